"""Questions, free pages and editions: the files of the series that stand beside its stocks."""

import re

from basefog.read.corrections import corrections_of
from basefog.read.fields import is_slug, parse_date
from basefog.read.folder import Entry, SeriesFolder
from basefog.read.known_files import tell_unknown
from basefog.read.models import EditionKeys, QuestionKeys
from basefog.read.problem_list import ProblemList, did_you_mean
from basefog.read.prose import Names, check_prose, read_prose
from basefog.read.renamed import check_former_slugs
from basefog.read.validate import Checked, check_keys
from basefog.read.yaml_files import read_keys
from basefog.read.yaml_nodes import parse_yaml_text
from basefog.records.content import Edition, FreePage, InputFile, Prose, Question
from basefog.records.problem import Place

_FENCE = re.compile(r"---[ \t]*(?:\r\n|\r|\n)")
_CLOSING_FENCE = re.compile(r"^---[ \t]*(?:\r\n|\r|\n|\Z)", re.MULTILINE)
_QUESTION_NAME = re.compile(r"([0-9]{4}-[0-9]{2}-[0-9]{2})-(.+)\.md")


def read_questions(folder: SeriesFolder, names: Names, problems: ProblemList) -> tuple[Question, ...]:
    """Return the questions, newest first by the date they were filed, then by slug."""
    questions: dict[str, Question] = {}
    checked: dict[str, Checked[QuestionKeys]] = {}
    for entry in folder.list("questions"):
        found = _read_question(folder, entry, names, problems)
        if found is None:
            continue
        question, keys = found
        if question.slug in questions:
            problems.problem(
                entry.place,
                f"{questions[question.slug].prose.place.path} has the slug `{question.slug}` too",
                "Rename one of the two: a question's address is its slug.",
            )
        questions[question.slug], checked[question.slug] = question, keys
    check_former_slugs(checked, checked, "a question", problems)
    return tuple(sorted(questions.values(), key=lambda question: (-question.filed.toordinal(), question.slug)))


def _read_question(
    folder: SeriesFolder, entry: Entry, names: Names, problems: ProblemList
) -> tuple[Question, Checked[QuestionKeys]] | None:
    match = None if entry.is_folder else _QUESTION_NAME.fullmatch(entry.name)
    filed = parse_date(match[1]) if match else None
    if match is None or filed is None or not is_slug(match[2]):
        if entry.name.endswith(".md"):
            problems.problem(
                entry.place,
                f"found the name '{entry.name}', expected a date and a slug such as 2026-03-14-finer-grain.md",
                "Rename the file.",
            )
        else:
            tell_unknown(entry, (), problems)
        return None
    prose = read_prose(folder, entry, problems)
    if prose is None:
        if not problems.is_told(entry.path):
            problems.problem(entry.place, "the file is empty", "Write the question and its answer.")
        return None
    parts = _split_front_matter(prose, problems)
    if parts is None:
        return None
    front, body = parts
    node = parse_yaml_text(front.text, front.place, problems)
    checked = check_keys(QuestionKeys, node, problems, {"title": "?"}) if node else None
    check_prose(body, names, problems)
    if checked is None:
        return None
    _check_question(checked, names, problems)
    keys = checked.keys
    question = Question(
        slug=match[2],
        filed=filed,
        title=keys.title,
        asked=keys.asked,
        answered=keys.answered,
        stocks=keys.stocks,
        prose=body,
        former_slugs=keys.former_slugs,
        withdrawn=keys.withdrawn,
        corrections=corrections_of(keys.corrections),
    )
    return question, checked


def _split_front_matter(prose: Prose, problems: ProblemList) -> tuple[Prose, Prose] | None:
    opening = _FENCE.match(prose.text)
    closing = _CLOSING_FENCE.search(prose.text, opening.end()) if opening else None
    if opening is None or closing is None:
        what = "the front matter is missing" if opening is None else "the front matter is never closed"
        problems.problem(prose.place, what, "Begin the file with `---`, lines such as `title: ...`, and `---` again.")
        return None
    path = prose.place.path
    front = prose.text[opening.end() : closing.start()]
    line = 1 + len(prose.text[: closing.end()].splitlines())
    return (
        Prose(text=front, place=Place(path=path, line=2)),
        Prose(text=prose.text[closing.end() :], place=Place(path=path, line=line)),
    )


def _check_question(checked: Checked[QuestionKeys], names: Names, problems: ProblemList) -> None:
    keys = checked.keys
    if keys.asked is not None and keys.answered is not None and keys.answered < keys.asked:
        problems.problem(
            checked.place("answered"),
            f"answered: found {keys.answered}, expected a date not before it was asked, {keys.asked}",
            "Correct one of the two dates.",
        )
    for index, slug in enumerate(keys.stocks):
        if slug not in names.tests_by_stock:
            problems.problem(
                checked.place("stocks", index),
                f"stocks: no stock is named `{slug}`{did_you_mean(slug, names.tests_by_stock)}",
                "Name a stock by its folder.",
            )


def read_free_pages(folder: SeriesFolder, names: Names, problems: ProblemList) -> tuple[FreePage, ...]:
    """Return the free pages by slug."""
    pages: list[FreePage] = []
    for entry in folder.list("pages"):
        slug = entry.name.removesuffix(".md")
        place = Place(path=entry.path)
        if entry.is_folder or slug == entry.name:
            tell_unknown(entry, (f"{entry.name.rpartition('.')[0]}.md",), problems)
            continue
        if not is_slug(slug):
            problems.problem(
                place, f"found the name '{slug}', expected a slug of a-z, 0-9 and hyphens", "Rename the file."
            )
            continue
        prose = read_prose(folder, entry, problems)
        if prose is None:
            if not problems.is_told(entry.path):
                problems.problem(place, "the file is empty", "Write a heading and the text.")
            continue
        tree = check_prose(prose, names, problems)
        if tree is None:
            continue
        if not tree.heading:
            problems.problem(place, "the page has no heading", "Begin it with a line such as `# About`.")
            continue
        pages.append(FreePage(slug=slug, title=tree.heading, prose=prose))
    return tuple(pages)


def read_editions(folder: SeriesFolder, problems: ProblemList) -> tuple[Edition, ...]:
    """Return the editions by number."""
    editions: list[Edition] = []
    for entry in folder.list("editions"):
        name = entry.name.removesuffix(".yaml")
        if entry.is_folder or name == entry.name or not re.fullmatch("[1-9][0-9]{0,5}", name):
            tell_unknown(entry, (), problems)
            continue
        stand_ins = {"number": name, "date": "2000-01-01", "note": "?"}
        checked = read_keys(folder, entry.path, EditionKeys, stand_ins, problems)
        if checked is None:
            continue
        keys = checked.keys
        if "number" not in checked.broken and keys.number != int(name):
            problems.problem(
                checked.place("number"),
                f"number: found {keys.number:g}, expected {name}, as the file is named",
                "Leave editions as `basefog edition` wrote them.",
            )
        editions.append(
            Edition(
                number=int(name),
                date=keys.date,
                note=keys.note,
                inputs=tuple(InputFile(path=item.path, sha256=item.sha256) for item in keys.inputs),
                place=Place(path=entry.path),
            )
        )
    return tuple(sorted(editions, key=lambda edition: edition.number))
