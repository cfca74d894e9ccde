"""What the calls in Markdown become: figures, differences, verdicts, charts and views, each linking to its numbers."""

from collections.abc import Callable
from dataclasses import dataclass, field
from html import escape

from markupsafe import Markup

from basefog.picture import (
    describe_chart,
    describe_control_strip_chart,
    draw_chart,
    draw_control_strip_chart,
    list_charts,
    plan_views,
)
from basefog.publish.addresses import address_of_chart, address_of_stock, address_of_test, relative_link
from basefog.publish.pages.charts import size_of
from basefog.publish.pages.frame import CONTROL_STRIPS, METHOD
from basefog.publish.pages.names import name_pair_in_words
from basefog.publish.pages.prose import Answer
from basefog.publish.pages.quantities import format_difference, format_quantity
from basefog.publish.pages.view_pairs import Picture, picture_of
from basefog.publish.pages.words import SIDES, comparison_of, say_standing
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
        named = self._named(call.args[0])
        if named is None:
            words = f"not measured: {self.series.stock(call.args[0]).name} has no current test"
            return Answer(inline=Markup(escape(words)), plain=words)  # noqa: S704  # escaped here
        stock, test, address = named
        found = self.findings.tests[test.key]
        what = call.args[1].lower()
        if call.name == "value":
            return self._number(self._value(found, what), f"{address}#{what}")
        if call.name == "difference":
            return self._number(format_difference(self._comparison(found, what)).plain, f"{address}#{what}")
        if call.name == "verdict":
            return self._number(self._verdict(found, what), f"{address}#{what}")
        if call.name == "chart":
            return self._chart(stock, test, what, address)
        return self._view(stock, test, what, address)

    def _named(self, name: str) -> tuple[Stock, Test, str] | None:
        slug, _, test_id = name.partition("/")
        stock = self.series.stock(slug)
        if test_id:
            test = stock.test(test_id)
            return stock, test, address_of_test(test)
        current = stock.current_test
        if current is None:
            return None
        return stock, current, address_of_stock(slug)

    def _value(self, found: TestFindings, what: str) -> str:
        if what in found.measures:
            return format_quantity(found.measures[what]).plain
        return format_quantity(found.patches[what].stops_from_grey, signed=True).plain

    def _comparison(self, found: TestFindings, what: str) -> Comparison:
        if (comparison := comparison_of(found, what)) is not None:
            return comparison
        if what in found.patches:
            return found.patches[what].against_reference
        return Comparison(verdict="not measured", why="this is the reference itself")

    def _verdict(self, found: TestFindings, what: str) -> str:
        comparison = self._comparison(found, what)
        if what in found.patches:
            return say_standing(comparison, higher="lighter", lower="darker")
        higher, lower = SIDES.get(what, ("higher", "lower"))
        return say_standing(comparison, higher=higher, lower=lower)

    def _number(self, text: str, address: str) -> Answer:
        href = escape(relative_link(self.page, address))
        if PLUS_MINUS in text:
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
        size = self._size_of(file, lambda: made_by(draw_chart))
        return self._chart_block(words, relative_link(self.page, f"{address}#{chart}"), file, described, size)

    def _control_strips(self, test: Test) -> Answer:
        batches = self.findings.batches
        if not batches:
            words = "no control strip was read"
            return Answer(inline=Markup(escape(words)), plain=words)  # noqa: S704  # escaped here
        described = describe_control_strip_chart(batches, batch=test.developed.batch)
        size = self._size_of(CONTROL_STRIPS, lambda: draw_control_strip_chart(batches))
        href = relative_link(self.page, f"{METHOD}#batches")
        return self._chart_block(CHARTS["control-strip"], href, CONTROL_STRIPS, described, size)

    def _chart_block(self, words: str, href: str, file: str, described: str, size: tuple[int, int]) -> Answer:
        block = Markup(
            '<figure class="chart"><img src="{}" width="{}" height="{}" alt="{}" loading="lazy">'
            '<figcaption><a href="{}">{}</a></figcaption></figure>'
        ).format(relative_link(self.page, file), *size, described, href, words)
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
            block=self._figure(picture_of(plans[view], stock, test, name=stock.name), words, href),
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
