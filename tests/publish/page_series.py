"""The invented series with all that pages can show, and its pages made."""

import pickle
from dataclasses import replace
from pathlib import Path

from basefog.picture import plan_views
from basefog.publish.addresses import address_of_view
from basefog.publish.pages import plan_pages
from basefog.publish.theme import Theme
from basefog.records.content import Box, Chapter, FreePage, Prose, Scan, Series, Test, Video, View
from basefog.records.problem import Place
from basefog.records.vocabulary import ViewSubject
from publish.invented import make_findings, make_series

THEME_FOLDER = Path(__file__).parents[2] / "themes" / "neutral"


def richer_series() -> Series:
    """Return the invented series with notes, a video, a free page and a question that uses every call."""
    series = make_series()
    gull, knot, marl, tern = series.stocks
    notes = Prose(text="# Fresh\n\nSee [method](../../../method/).", place=Place(path="stocks/tern-100/x/notes.md"))
    video = Video(address="https://video.example.org/1", chapters=(Chapter(at_s=220, title="Curves"),))
    tern = replace(tern, tests=(replace(scan_test(tern.tests[0]), notes=notes, video=video),), notes=notes)
    marl = replace(marl, tests=(marl.tests[0], scan_test(marl.tests[1])))
    asked = replace(
        series.questions[0],
        stocks=("tern-100",),
        prose=Prose(
            text='It is {{ value("tern-100", "gamma") }}, {{ verdict("tern-100", "gamma") }}; '
            '{{ difference("tern-100", "gamma") }}.\n\n{{ chart("tern-100", "curve") }}\n\n'
            '{{ view("tern-100", "even") }}\n\n'
            '{{ value("gull-25/2026-02-01", "gamma") }} {{ value("knot-50", "gamma") }}',
            place=Place(path="questions/2026-04-10-grain.md"),
        ),
    )
    about = FreePage(
        slug="about", title="About us", prose=Prose(text="# About us\n\nHello.", place=Place(path="pages/about.md"))
    )
    return replace(
        series,
        stocks=(gull, knot, marl, tern),
        questions=(asked, series.questions[1]),
        pages=(about,),
        views=(
            View(id="whole", name="Whole print", box=Box(x=0, y=0, w=1, h=1), of="print", shows="tone"),
            View(id="even", name="Even tone", box=Box(x=0.1, y=0.1, w=0.5, h=0.5), of="negative", shows="grain"),
        ),
    )


def scan_test(test: Test) -> Test:
    """Return the test with a print of 1500 by 1000 pixels and a negative of 1200 by 800."""

    def scan(of: ViewSubject, width_px: int, height_px: int) -> Scan:
        return Scan(
            path=f"stocks/{test.key}/scans/{of}.png",
            of=of,
            width_px=width_px,
            height_px=height_px,
            bits=8,
            pixels_per_mm=20.0 if of == "print" else 250.0,
            code_density=None,
            boxes={},
            sha256="0" * 64,
            place=test.place,
        )

    return replace(test, scans=(scan("print", 1500, 1000), scan("negative", 1200, 800)))


def make_pages(series: Series, theme: Theme) -> dict[str, bytes]:
    """Make every page, each job in the shape that another process would get it."""
    files: dict[str, bytes] = {}
    for job in plan_pages(series, make_findings(series), theme=theme):
        carried = pickle.loads(pickle.dumps(job))  # noqa: S301  # our own, made in this line
        made = carried.make(**carried.inputs)
        assert tuple(sorted(made)) == tuple(sorted(job.outputs))
        files |= made
    return files


def draw_pictures(series: Series) -> dict[str, bytes]:
    """Return a plain grey picture of the right size at the address of every view."""
    import io

    from PIL import Image

    files: dict[str, bytes] = {}
    reference = series.reference_stock.current_test
    for stock in series.stocks:
        for test in stock.tests:
            for plan in plan_views(test, reference, series.views):
                for file in plan.files:
                    out = io.BytesIO()
                    kind = "PNG" if file.suffix.endswith(".png") else "WEBP"
                    Image.new("L", (file.width_px, file.height_px), 90).save(out, kind)
                    files[address_of_view(test, plan.view.id, file.suffix)] = out.getvalue()
    return files
