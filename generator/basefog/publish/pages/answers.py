"""What the calls in Markdown become: figures, differences, verdicts, charts and views, each linking to its numbers."""

from collections.abc import Callable
from dataclasses import dataclass, field
from html import escape
from typing import Final

from markupsafe import Markup

from basefog.measure.intervals import compare, not_measured
from basefog.measure.verdicts import WHY_NO_ISO_DIFFERENCE
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
from basefog.publish.pages.words import SIDES, comparison_of, say_difference, say_standing
from basefog.records.content import Series, Stock, Test
from basefog.records.findings import Comparison, Findings, TestFindings
from basefog.records.numbers import PLUS_MINUS
from basefog.records.prose_calls import ProseCall
from basefog.records.vocabulary import CHARTS, MEASURE_BY_ID

_Named = tuple[Stock, Test, str]
"""What a call names: a stock, the test meant, and the address of its page."""

WHY_IS_REFERENCE: Final = "this is the reference itself"


@dataclass(frozen=True, kw_only=True, slots=True)
class Answers:
    """Answers the calls of a text that stands on one page."""

    series: Series
    findings: Findings
    page: str
    _sizes: dict[str, tuple[int, int]] = field(default_factory=dict, compare=False, repr=False)

    def __call__(self, call: ProseCall) -> Answer:
        """Return what a checked call becomes. Raises LookupError where it names nothing there is."""
        found_names = [self._named(name) for name in call.named]
        known = [named for named in found_names if named is not None]
        if len(known) < len(found_names):
            words = self._why_unmeasured(call.named[found_names.index(None)])
            return Answer(inline=Markup(escape(words)), plain=words)  # noqa: S704  # escaped here
        stock, test, address = known[0]
        what = call.what.lower()
        if len(known) == 2:
            return self._compare_two(call.name, known[0], known[1], what)
        if call.name == "chart":
            return self._chart(stock, test, what, address)
        if call.name == "view":
            return self._view(stock, test, what, address)
        return self._number(self._words(call.name, stock, test, what), f"{address}#{what}")

    def _words(self, call: str, stock: Stock, test: Test, what: str) -> str:
        found = self.findings.tests[test.key]
        if call == "value":
            return self._value(found, what)
        if call == "difference":
            return format_difference(self._comparison(found, what)).plain
        if call == "verdict":
            return self._verdict(found, what)
        name, reference_name = name_pair_in_words(self.series, stock, test)
        if test.key == self.findings.reference:
            return f"{name}: {WHY_IS_REFERENCE}."
        reference = self.findings.of_reference
        value = reference.measures[what].value if reference else None
        return self._sentence(self._comparison(found, what), what, name, reference_name, value)

    def _named(self, name: str) -> _Named | None:
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

    def _compare_two(self, call: str, one: _Named, other: _Named, what: str) -> Answer:
        """Answer a call that sets one test against another, neither of which need be the reference."""
        found, beside = self.findings.tests[one[1].key], self.findings.tests[other[1].key]
        comparison = self._compare(found, beside, what)
        address = address_of_any_two(one[1], other[1])
        if call == "difference":
            return self._number(format_difference(comparison).plain, address)
        if call == "verdict":
            higher, lower = SIDES.get(what, ("higher", "lower"))
            return self._number(say_standing(comparison, higher=higher, lower=lower), address)
        name, beside_name = one[0].name, other[0].name
        if name == beside_name:
            name, beside_name = (f"{name}’s test of {name_test(test)}" for test in (one[1], other[1]))
        return self._number(self._sentence(comparison, what, name, beside_name, beside.measures[what].value), address)

    def _compare(self, found: TestFindings, beside: TestFindings, what: str) -> Comparison:
        if beside.key == self.findings.reference:
            return self._comparison(found, what)
        unit = found.measures[what].unit
        if MEASURE_BY_ID[what].comparative:
            return not_measured("it is told against the reference alone", unit)
        if what == "iso_speed":
            return not_measured(WHY_NO_ISO_DIFFERENCE, unit)
        curves = (found.curve, beside.curve)
        if what == "speed_point" and not (
            all(curve is not None and curve.absolute for curve in curves)
            or len({curve and (curve.absolute, curve.axis) for curve in curves}) == 1
        ):
            return not_measured("their log exposures have no axis in common", unit)
        return compare(found.measures[what], beside.measures[what], self.findings.scatter.get(what))

    def _sentence(
        self, comparison: Comparison, what: str, name: str, beside_name: str, beside_value: float | None
    ) -> str:
        return f"{name} against {beside_name}: {say_difference(what, comparison, beside_value).text}."

    def _value(self, found: TestFindings, what: str) -> str:
        if what in found.measures:
            return format_quantity(found.measures[what]).plain
        return format_quantity(found.patches[what].stops_from_grey, signed=True).plain

    def _comparison(self, found: TestFindings, what: str) -> Comparison:
        if (comparison := comparison_of(found, what)) is not None:
            return comparison
        if what in found.patches:
            return found.patches[what].against_reference
        return Comparison(verdict="not measured", why=WHY_IS_REFERENCE)

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
