"""Every kind of page, made from an invented series with hard cases: no test, all withdrawn, formula names, renames."""

import gzip
import re
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path

import pytest
from jinja2 import UndefinedError

from basefog.publish.pages import plan_pages
from basefog.publish.pages.page_of_history import changes_between
from basefog.publish.pages.text_pages import page_of_not_found
from basefog.publish.theme import THEME_VERSION, Theme, ThemeError, load_theme, make_assets, render
from basefog.records.content import Prose, Series
from basefog.records.findings import Quantity
from basefog.records.problem import Place
from basefog.site import Job
from basefog.site.digest import digest_of
from publish.invented import FORMULA_NAME, make_findings, make_series, make_stock
from publish.page_checks import elements, faults_of_page, parse_strictly, text_of
from publish.page_series import THEME_FOLDER, make_pages, richer_series

TERN = "stocks/tern-100/index.html"
OLD = "stocks/marl-400/2026-03-14/index.html"


@pytest.fixture(scope="module")
def theme() -> Theme:
    return load_theme(THEME_FOLDER)


@pytest.fixture(scope="module")
def files(theme: Theme) -> Mapping[str, bytes]:
    return make_pages(richer_series(), theme)


def page(files: Mapping[str, bytes], address: str) -> str:
    return files[address].decode()


def test_every_page_keeps_the_rules_of_all_pages(files: Mapping[str, bytes]) -> None:
    """Strict HTML, one h1, language, description, policy, unique ids, no inline style or script, no stray words."""
    faults = [
        fault for name, data in sorted(files.items()) if name.endswith(".html") for fault in faults_of_page(name, data)
    ]

    assert faults == []


def test_there_is_a_page_for_everything(files: Mapping[str, bytes]) -> None:
    """Summary, stocks, tests, histories, comparison, questions, free page, method, data, 404 and the old addresses."""
    expected = {
        "index.html", "404.html", "method/index.html", "method/study/index.html", "data/index.html",
        "questions/index.html",
        "questions/grain/index.html", "questions/still-open/index.html", "pages/about/index.html", "stocks/index.html",
        "compare/index.html",
        TERN, "stocks/tern-100/2026-04-01-b/index.html", "stocks/tern-100/history/index.html",
        "compare/tern-100/index.html", "stocks/marl-400/index.html", OLD, "stocks/marl-400/2026-05-02/index.html",
        "stocks/marl-400/history/index.html", "stocks/gull-25/index.html", "stocks/gull-25/2026-02-01/index.html",
        "stocks/gull-25/history/index.html", "stocks/knot-50/index.html", "stocks/knot-50/history/index.html",
        "stocks/marl-iso-400/index.html", "stocks/marl-iso-400/history/index.html",
        "stocks/marl-iso-400/2026-03-14/index.html", "stocks/marl-iso-400/2026-05-02/index.html",
    }  # fmt: skip

    assert {name for name in files if name.endswith(".html")} == expected


def test_every_page_carries_the_description_of_the_series(files: Mapping[str, bytes]) -> None:
    """What the series says of itself, such as that its data are invented, stands on every page."""
    for name, data in files.items():
        if name.endswith(".html"):
            assert "One reference film, one protocol." in text_of(elements(parse_strictly(data), "footer")[0]), name


def test_names_are_text_and_never_markup(files: Mapping[str, bytes]) -> None:
    """A name or reason with signs that mean something in HTML is shown as typed."""
    assert text_of(elements(parse_strictly(files[TERN]), "h1")[0]) == FORMULA_NAME
    assert "&lt;between&gt; frames &amp; rolls" in page(files, OLD)


def test_a_replaced_test_says_by_what_and_why(files: Mapping[str, bytes]) -> None:
    """The old test's page carries a banner with the reason and a link to the successor."""
    banner = next(aside for aside in elements(parse_strictly(files[OLD]), "aside"))

    assert "replaced by the one of 2 May 2026" in text_of(banner)
    assert "The camera moved <between> frames & rolls." in text_of(banner)
    assert [link.get("href") for link in elements(banner, "a")] == ["../2026-05-02/index.html"]


def test_two_tests_of_the_reference_are_told_apart(files: Mapping[str, bytes]) -> None:
    """An earlier test of the reference is set against nothing: it says what it is, and which test the others go by."""
    tree = parse_strictly(files[OLD])
    titles = {element.get("id"): text_of(element) for element in elements(tree, "h2")}

    assert titles["verdict-title"] == "Verdict"
    assert "This is a test of the reference; the others are measured against the one of 2 May 2026." in text_of(tree)


def test_a_withdrawn_test_says_so(files: Mapping[str, bytes]) -> None:
    """A withdrawn test stays readable and tells why it does not count."""
    banner = next(aside for aside in elements(parse_strictly(files["stocks/gull-25/2026-02-01/index.html"]), "aside"))

    assert text_of(banner) == "This test is withdrawn. Why: The wrong developer was used."


def test_a_measure_without_a_value_says_why(files: Mapping[str, bytes]) -> None:
    """Every measure of the vocabulary has its anchor on a test's page, missing ones with their reason."""
    from basefog.records.vocabulary import MEASURES

    text = page(files, TERN)
    for measure in MEASURES:
        assert f'id="{measure.id}"' in text, measure.id
    assert "too few steps." in text


def test_definitions_are_where_the_links_lead(files: Mapping[str, bytes]) -> None:
    """Each measure's name links to an anchor of the method page, as does what a verdict's error counts."""
    anchors = {element.get("id") for element in parse_strictly(files["method/index.html"]).iter()}
    links = [str(link.get("href")) for link in elements(parse_strictly(files[TERN]), "a")]
    wanted = {link.partition("#")[2] for link in links if link.startswith("../../method/index.html#")}

    assert len(wanted - {"verdicts"}) == 23
    assert wanted <= anchors


def test_answers_link_to_their_numbers(files: Mapping[str, bytes]) -> None:
    """A number in an answer is the finding's own, with its interval, linked to the row it stands in."""
    text = page(files, "questions/grain/index.html")

    assert '<a class="figure" href="../../stocks/tern-100/index.html#gamma">0.612 ± 0.011</a>' in text
    assert "+0.031 ± 0.019" in text
    assert '<img src="../../stocks/tern-100/2026-04-01-b/curve.svg"' in text
    assert "not measured: too few steps" in text
    assert "not measured: Knot 50 has no current test" in text


def test_the_404_page_links_absolutely(files: Mapping[str, bytes], theme: Theme) -> None:
    """It is shown at any address, so nothing in it is relative; without a series address it does what it can."""
    tree = parse_strictly(files["404.html"])
    for element in tree.iter():
        for name in ("href", "src"):
            if element.get(name) and not str(element.get(name)).startswith("#"):
                assert str(element.get(name)).startswith(
                    ("https://trials.example.org/", "https://creativecommons.org/")
                )

    assert b'href="index.html"' in make_pages(make_series(address=None), theme)["404.html"]


def test_the_404_page_lists_stocks_while_they_can_be_looked_through() -> None:
    """Beyond sixty the summary alone is named, which finds them."""
    series = make_series()
    more = tuple(make_stock(f"alder-{n}", f"Alder {n}", ("2026-03-03",)) for n in range(59))

    assert [stock.label for stock in page_of_not_found(series, b"").stocks] == ["Marl 400", FORMULA_NAME]
    assert page_of_not_found(replace(series, stocks=(*more, *series.stocks)), b"").stocks == ()


def test_a_former_address_leads_on(files: Mapping[str, bytes]) -> None:
    """The page of a former slug sends a browser on, without a script, and names the new address as canonical."""
    tree = parse_strictly(files["stocks/marl-iso-400/2026-03-14/index.html"])
    refresh = [meta.get("content") for meta in elements(tree, "meta") if meta.get("http-equiv") == "refresh"]
    canonical = [link.get("href") for link in elements(tree, "link") if link.get("rel") == "canonical"]

    assert refresh == ["0; url=../../marl-400/2026-03-14/index.html"]
    assert canonical == ["https://trials.example.org/stocks/marl-400/2026-03-14/"]


def test_canonical_addresses_end_in_a_slash(files: Mapping[str, bytes]) -> None:
    """With an address of the series each page names its own; without one none does."""
    assert '<link rel="canonical" href="https://trials.example.org/stocks/tern-100/">' in page(files, TERN)


def test_a_series_without_an_address_names_no_canonical(theme: Theme) -> None:
    """No page claims an address that nobody gave."""
    assert b"canonical" not in make_pages(make_series(address=None), theme)[TERN]


def test_the_history_tells_what_changed_in_the_set_up(files: Mapping[str, bytes]) -> None:
    """Reason and changes of a retest stand in the stock's history."""
    before, after = make_series().stock("marl-400").tests
    longer = replace(after, developed=replace(after.developed, time_min=10.0), emulsion=None)

    changes = [(change.what, change.before, change.after) for change in changes_between(before, longer)]

    assert changes == [("Emulsion", "0417-2", "not told"), ("Development time", "8.5 min", "10 min")]
    assert "Why: The camera moved &lt;between&gt; frames &amp; rolls." in page(
        files, "stocks/marl-400/history/index.html"
    )


def test_a_series_whose_reference_is_withdrawn_has_pages(theme: Theme) -> None:
    """Nothing is compared then, and every page says so instead of failing."""
    series = make_series()
    marl = replace(series.stock("marl-400"), current=None)
    series = replace(series, stocks=tuple(marl if stock.slug == marl.slug else stock for stock in series.stocks))
    findings = replace(make_findings(series), reference=None)
    made: dict[str, bytes] = {}
    for job in plan_pages(series, findings, theme=theme):
        made |= job.make(**job.inputs)

    assert "nothing can be compared" in made[TERN].decode()
    assert [fault for name in (TERN, "index.html") for fault in faults_of_page(name, made[name])] == []


def test_the_same_series_makes_the_same_bytes(files: Mapping[str, bytes], theme: Theme) -> None:
    """A second run makes every page again, byte for byte."""
    assert make_pages(richer_series(), theme) == files


def test_a_change_in_one_stock_leaves_the_pages_of_others_alone(theme: Theme) -> None:
    """Jobs depend on what their page shows: new notes on one stock make no other stock's page anew."""
    series = richer_series()
    changed = replace(series.stock("tern-100"), notes=Prose(text="New.", place=Place(path="stocks/tern-100/notes.md")))
    after = replace(series, stocks=tuple(changed if s.slug == changed.slug else s for s in series.stocks))

    touched = addresses_touched(series, after, theme)

    assert {"stocks/tern-100/index.html", "stocks/tern-100/2026-04-01-b/index.html"} <= touched
    others = {
        address for address in touched if address.startswith(("stocks/", "compare/")) and "tern-100" not in address
    }
    assert others == set()


def test_notes_on_the_reference_leave_the_pages_of_others_alone(theme: Theme) -> None:
    """They show its figures and not its words."""
    series = richer_series()
    reference = series.reference_stock
    changed = replace(reference, notes=Prose(text="New.", place=Place(path=f"stocks/{reference.slug}/notes.md")))
    after = replace(series, stocks=tuple(changed if s.slug == changed.slug else s for s in series.stocks))

    touched = addresses_touched(series, after, theme)

    assert f"stocks/{reference.slug}/index.html" in touched
    assert not {address for address in touched if address.startswith("stocks/tern-100/")}


def test_a_text_that_names_another_stock_follows_its_figures(theme: Theme) -> None:
    """The pages of a stock whose notes call for a figure of another are made anew with that figure."""
    series = richer_series()
    told = Prose(text='{{ value("tern-100", "gamma") }}', place=Place(path="stocks/marl-400/notes.md"))
    naming = replace(series.stock("marl-400"), notes=told)
    series = replace(series, stocks=tuple(naming if s.slug == naming.slug else s for s in series.stocks))
    findings = make_findings(series)
    tern = findings.tests["tern-100/2026-04-01-b"]
    moved = replace(tern, measures={**tern.measures, "gamma": Quantity(value=0.77, low=0.7, high=0.84, unit="")})
    after = replace(findings, tests={**findings.tests, tern.key: moved})

    before = {job.outputs: job for job in plan_pages(series, findings, theme=theme)}
    touched = {outputs[0] for outputs, job in jobs_touched(before, plan_pages(series, after, theme=theme))}

    assert "stocks/marl-400/2026-03-14/index.html" in touched


def test_a_question_follows_what_it_names_and_nothing_else(theme: Theme) -> None:
    """The words of one question make no other's page anew; nor do the notes of a stock that it is about."""
    series = richer_series()
    first, second = series.questions[:2]
    changed = replace(first, prose=replace(first.prose, text="Otherwise."))
    after = replace(series, questions=(changed, *series.questions[1:]))

    touched = addresses_touched(series, after, theme)

    assert f"questions/{first.slug}/index.html" in touched
    assert f"questions/{second.slug}/index.html" not in touched
    noted = tuple(
        replace(stock, notes=Prose(text="New.", place=Place(path=f"stocks/{stock.slug}/notes.md")))
        for stock in series.stocks
    )
    assert not {
        address
        for address in addresses_touched(series, replace(series, stocks=noted), theme)
        if address.startswith("questions/") and address != "questions/index.html"
    }


def addresses_touched(series: Series, after: Series, theme: Theme) -> set[str]:
    """Return what is made anew after a change of the content that changes no figure."""
    before = {job.outputs: job for job in plan_pages(series, make_findings(series), theme=theme)}
    touched = jobs_touched(before, plan_pages(after, make_findings(after), theme=theme))
    return {address for outputs, _ in touched for address in outputs}


def jobs_touched(before: dict[tuple[str, ...], Job], after: tuple[Job, ...]) -> list[tuple[tuple[str, ...], Job]]:
    """Return the jobs whose inputs are no longer what they were, by what they make."""
    return [
        (job.outputs, job)
        for job in after
        if digest_of(dict(job.inputs)) != digest_of(dict(before[job.outputs].inputs))
    ]


def test_a_theme_for_other_variables_is_refused(tmp_path: Path) -> None:
    """A theme says which version of the template variables it is written for."""
    with pytest.raises(ThemeError, match=r"is no theme: it has no theme\.yaml"):
        load_theme(tmp_path)
    (tmp_path / "theme.yaml").write_text(f"theme_version: {THEME_VERSION + 1}\n", encoding="utf-8")

    with pytest.raises(ThemeError, match=f"written for version {THEME_VERSION + 1} .* expected {THEME_VERSION}"):
        load_theme(tmp_path)


def test_an_unknown_variable_stops_a_page() -> None:
    """A template that names what is not there fails loudly, and values are escaped."""
    theme = Theme(name="t", templates={"a.html": "{{ said }}", "b.html": "{{ unsaid }}"}, assets={}, digest="1")

    assert render(theme, "a.html", {"said": "<b>"}) == b"&lt;b&gt;"
    with pytest.raises(UndefinedError):
        render(theme, "b.html", {"said": ""})


def test_a_themes_digest_follows_its_files(tmp_path: Path) -> None:
    """Another byte in any file is another digest; the folder's place is not part of it."""

    def write(folder: Path, css: str) -> Theme:
        for name in ("templates", "assets"):
            (folder / name).mkdir(parents=True)
        (folder / "theme.yaml").write_text(f"theme_version: {THEME_VERSION}\n", encoding="utf-8")
        (folder / "assets" / "page.css").write_text(css, encoding="utf-8")
        return load_theme(folder)

    first, same, other = write(tmp_path / "a", "p{}"), write(tmp_path / "b", "p{}"), write(tmp_path / "c", "p{ }")

    assert first.digest == same.digest
    assert first.digest != other.digest


def test_scripts_and_styles_stay_light(files: Mapping[str, bytes], theme: Theme) -> None:
    """All scripts together are sent in less than 25,000 bytes, and none asks another host.

    No page loads more than that even unpacked, but the one that compares any two tests: it draws and compares in the
    browser what the others have done for them.
    """
    published = make_assets(assets=theme.assets)
    loaded = {
        page: sum(len(published[f"assets/{name}"]) for name in re.findall(r'<script src="[^"]*assets/([^"]+)"', text))
        for page, data in files.items()
        if page.endswith(".html") and (text := data.decode())
    }
    loaded.pop("compare/index.html")
    sent = sum(len(gzip.compress(data, mtime=0)) for name, data in published.items() if name.endswith(".js"))

    assert 0 < sent < 25_000
    assert 0 < max(loaded.values()) < 25_000
    assert b"//" not in published["assets/summary.js"]
    for name, data in theme.assets.items():
        text = data.decode().replace("http://www.w3.org/2000/svg", "")
        assert "http://" not in text, name
        assert "https://" not in text, name
