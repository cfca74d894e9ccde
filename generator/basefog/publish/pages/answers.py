"""What the calls in Markdown become: figures, differences, verdicts, charts and views, each linking to its numbers."""

from collections.abc import Callable
from dataclasses import dataclass, field
from html import escape

from markupsafe import Markup

from basefog.judge import compare_any_two
from basefog.picture import (
    describe_chart,
    describe_control_strip_chart,
    draw_chart,
    draw_control_strip_chart,
    list_charts,
    plan_views,
)
from basefog.publish.addresses import (
    address_of_any_two,
    address_of_chart,
    address_of_stock,
    address_of_test,
    relative_link,
)
from basefog.publish.pages.charts import size_of
from basefog.publish.pages.frame import CONTROL_STRIPS, METHOD
from basefog.publish.pages.names import name_pair_in_words, name_test
from basefog.publish.pages.prose import Answer
from basefog.publish.pages.quantities import format_difference, format_quantity
from basefog.publish.pages.view_pairs import Picture, picture_of
from basefog.publish.pages.words import SIDES, figures_of, say_difference, say_patch, say_standing
from basefog.records.content import Series, Stock, Test
from basefog.records.findings import Comparison, Findings, TestFindings
from basefog.records.numbers import PLUS_MINUS
from basefog.records.prose_calls import ProseCall
from basefog.records.vocabulary import CHARTS


@dataclass(frozen=True, kw_only=True, slots=True)
class Answers:
    """Answers the calls of a text that stands on one page."""

    series: Series
    findings: Findings
    page: str
    _sizes: dict[str, tuple[int, int]] = field(default_factory=dict, compare=False, repr=False)

    def __call__(self, call: ProseCall) -> Answer:
        """Return what a checked call becomes. Raises LookupError where it names nothing there is."""
        names, what = list(call.named), call.what.lower()
        sides: list[tuple[Stock, Test, str]] = []
        for name in names:
            named = self._named(name)
            if named is None:
                words = self._why_unmeasured(name)
                return Answer(inline=Markup(escape(words)), plain=words)  # noqa: S704  # escaped here
            sides.append(named)
        stock, test, address = sides[0]
        found = self.findings.tests[test.key]
        if call.name == "chart":
            return self._chart(stock, test, what, address)
        if call.name == "view":
            return self._view(stock, test, what, address)
        if call.name == "value":
            own = "/" in names[0]
            return self._number(self._value(found, what, own=own), f"{address}#{what}")
        return self._compared(call.name, names, sides, what)

    def _compared(self, kind: str, names: list[str], sides: list[tuple[Stock, Test, str]], what: str) -> Answer:
        """Return a difference, verdict or sentence of one test against the reference, or of any two."""
        stock, test, address = sides[0]
        found = self.findings.tests[test.key]
        if len(sides) == 1:
            comparison = self._comparison(found, what, own="/" in names[0])
            link, other_found = f"{address}#{what}", self.findings.of_reference
            called = name_pair_in_words(self.series, stock, test)
        else:
            other, other_test, _ = sides[1]
            other_found = self.findings.tests[other_test.key]
            pooled = ("/" not in names[0], "/" not in names[1])
            comparison = compare_any_two(self.findings, found, other_found, what, pooled=pooled)
            link = f"{address_of_any_two(*names)}&at={what}"
            called = stock.name, other.name
            if stock is other:
                first, second = (f"{stock.name}’s test of {name_test(one)}" for one in (test, other_test))
                called = first, second
        if kind == "difference":
            return self._number(format_difference(comparison).plain, link)
        if kind == "verdict":
            return self._number(self._say(comparison, what, patch=what in found.patches), link)
        return self._number(self._sentence(comparison, what, called, found, other_found), link)

    def _sentence(
        self,
        comparison: Comparison,
        what: str,
        called: tuple[str, str],
        found: TestFindings,
        other: TestFindings | None,
    ) -> str:
        """Return a whole sentence: who is set against whom, and what came of it."""
        if called[0] == called[1]:
            return f"{called[0]}: {comparison.why}."
        if what in found.patches:
            names = {patch.id: patch.name for patch in self.series.patches}
            clause = say_patch(names[what], comparison)
        else:
            clause = say_difference(what, comparison, figures_of(found, other, what), other=called[1])
        return f"{called[0]} against {called[1]}: {clause.text}."

    def _named(self, name: str) -> tuple[Stock, Test, str] | None:
        slug, _, test_id = name.partition("/")
        stock = self.series.stock(slug)
        if test_id:
            if any(test.id == test_id for test in stock.under_way):
                return None
            test = stock.test(test_id)
            return stock, test, address_of_test(test)
        current = stock.current_test
        if current is None:
            return None
        return stock, current, address_of_stock(slug)

    def _why_unmeasured(self, name: str) -> str:
        slug, _, test_id = name.partition("/")
        stock = self.series.stock(slug)
        if test_id:
            return f"not measured: {stock.name}’s test {test_id} is under way"
        return f"not measured: {stock.name} has no current test"

    def _value(self, found: TestFindings, what: str, *, own: bool) -> str:
        if what in found.measures:
            return format_quantity(found.measures[what] if own else found.figure(what)).plain
        patch = found.patches[what].stops_from_grey if own else found.patch_figure(what)
        return format_quantity(patch, signed=True).plain

    def _comparison(self, found: TestFindings, what: str, *, own: bool) -> Comparison:
        reference = self.findings.of_reference
        if found.stock == self.series.reference or reference is None:
            return Comparison(verdict="not measured", why="this is the reference itself")
        if own and found.group:
            # A test that is named is the test's own, also where its stock has repeats.
            return compare_any_two(self.findings, found, reference, what, pooled=(False, True))
        if what in found.against_reference:
            return found.against_reference[what]
        if what in found.patches:
            return found.patches[what].against_reference
        return Comparison(verdict="not measured", why="it is not set against the reference")

    def _say(self, comparison: Comparison, what: str, *, patch: bool) -> str:
        higher, lower = ("lighter", "darker") if patch else SIDES.get(what, ("higher", "lower"))
        return say_standing(comparison, higher=higher, lower=lower)

    def _number(self, text: str, address: str) -> Answer:
        href = escape(relative_link(self.page, address))
        if text.endswith("."):
            text = text.replace(f" {PLUS_MINUS} ", f"\u00a0{PLUS_MINUS}\u00a0")
        elif PLUS_MINUS in text:
            # A line never breaks between a number and its uncertainty or unit.
            text = text.replace(" ", "\u00a0")
        return Answer(inline=Markup('<a class="figure" href="{}">{}</a>').format(Markup(href), text), plain=text)  # noqa: S704

    def _chart(self, stock: Stock, test: Test, chart: str, address: str) -> Answer:
        if chart == "control-strip":
            return self._control_strips(test)
        found = self.findings.tests[test.key]
        reference = self.findings.of_reference if test.key != self.findings.reference else None
        name, reference_name = name_pair_in_words(self.series, stock, test)
        patch_names = {patch.id: patch.name for patch in self.series.patches}

        def made_by(make: Callable[..., str]) -> str:
            return make(chart, found, reference, name=name, reference_name=reference_name, patch_names=patch_names)

        described = made_by(describe_chart)
        if chart not in list_charts(found):
            words = described.rstrip(".")
            return Answer(
                inline=Markup('<a href="{}">{}</a>').format(relative_link(self.page, address), words), plain=words
            )
        words = f"{CHARTS[chart]} of {stock.name}" + (f", {name}" if name != stock.name else "")
        file = address_of_chart(test, chart)
        href = relative_link(self.page, f"{address}#{chart}")
        return self._chart_answer(words, href, file, described, lambda: made_by(draw_chart))

    def _control_strips(self, test: Test) -> Answer:
        batches = self.findings.batches
        if not batches:
            words = "no control strip was read"
            return Answer(inline=Markup(escape(words)), plain=words)  # noqa: S704  # escaped here
        described = describe_control_strip_chart(batches, batch=test.developed.batch)
        href = relative_link(self.page, f"{METHOD}#batches")
        return self._chart_answer(
            CHARTS["control-strip"], href, CONTROL_STRIPS, described, lambda: draw_control_strip_chart(batches)
        )

    def _chart_answer(self, words: str, href: str, file: str, described: str, draw: Callable[[], str]) -> Answer:
        def block() -> Markup:
            return Markup(
                '<figure class="chart"><img src="{}" width="{}" height="{}" alt="{}" loading="lazy">'
                '<figcaption><a href="{}">{}</a></figcaption></figure>'
            ).format(relative_link(self.page, file), *self._size_of(file, draw), described, href, words)

        return Answer(inline=Markup('<a href="{}">{}</a>').format(href, words), plain=words, block=block)

    def _size_of(self, file: str, draw: Callable[[], str]) -> tuple[int, int]:
        """Return how large a chart is drawn, so that the page keeps its place; only the drawing tells."""
        if file not in self._sizes:
            self._sizes[file] = size_of(draw())
        return self._sizes[file]

    def _view(self, stock: Stock, test: Test, view: str, address: str) -> Answer:
        views = {declared.id: declared for declared in self.series.views}
        words = f"{views[view].name} on {stock.name}"
        href = relative_link(self.page, f"{address}#view-{view}")
        plans = {
            plan.view.id: plan for plan in plan_views(test, self.series.reference_stock.current_test, self.series.views)
        }
        if view not in plans:
            return Answer(inline=Markup(escape(f"{words} (there is no picture)")), plain=words)  # noqa: S704
        inline = Markup('<a href="{}">{}</a>').format(href, words)
        return Answer(
            inline=inline,
            plain=words,
            block=lambda: self._figure(picture_of(plans[view], stock, test, name=stock.name), words, href),
        )

    def _figure(self, picture: Picture, words: str, href: str) -> Markup:
        image = Markup('<img src="{}" width="{}" height="{}" alt="{}" data-view="{}" data-test="{}">').format(
            relative_link(self.page, picture.address),
            picture.width_px,
            picture.height_px,
            picture.alt,
            picture.view,
            picture.test,
        )
        bar = Markup()
        if picture.bar_label:
            bar = Markup(
                '<svg class="scale" viewBox="0 0 {0} 10" width="{0}" height="10" preserveAspectRatio="none"'
                ' aria-hidden="true"><rect y="3" height="4" width="{1}"/></svg><p class="scale-words">{2}</p>'
            ).format(picture.width_px, picture.bar_px, picture.bar_label)
        frame = Markup('<div class="frame">{}{}</div>')
        if picture.lossless:
            frame = Markup('<div class="frame exact" tabindex="0" role="region" aria-label="{}">').format(words)
            frame += Markup("{}{}</div>")
        return Markup('<figure class="picture">{}<figcaption><a href="{}">{}</a></figcaption></figure>').format(
            frame.format(image, bar), href, words
        )
