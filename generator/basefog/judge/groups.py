"""Which tests of a stock are one test done again: the group that a stock's figure is the mean of."""

from basefog.records.content import Stock, Test


def group_repeats(stock: Stock) -> tuple[tuple[Test, ...], ...]:
    """Return the groups of a stock, oldest first, each of one test and its repeats, by date.

    A test that does not say `repeat: true` begins a group; a repeat joins the newest group that was exposed and
    developed alike, and begins one where there is none. Tests that were withdrawn or replaced, and those that vary
    only the development time of another, are in none.

    Source: measures.md, "A stock's figure".
    """
    groups: list[list[Test]] = []
    for test in stock.tests:
        if test.withdrawn is not None or test.replaced_by is not None or test.development_of is not None:
            continue
        alike = [group for group in groups if _conditions(group[0]) == _conditions(test)] if test.repeat else []
        if alike:
            alike[-1].append(test)
        else:
            groups.append([test])
    return tuple(tuple(group) for group in groups)


def current_group(stock: Stock) -> tuple[Test, ...]:
    """Return the group of a stock's current test: that test alone where it has no repeats; empty without one."""
    current = stock.current_test
    if current is None:
        return ()
    return next((group for group in group_repeats(stock) if current in group), (current,))


def find_predecessor(stock: Stock, test: Test) -> Test | None:
    """Return the test that a retest or a repeat is set against, None for a test that is neither.

    Of a retest the one it replaces, of a repeat the one before it in its group.
    """
    if test.replaces is not None:
        return stock.test(test.replaces)
    if not test.repeat:
        return None
    group = next((group for group in group_repeats(stock) if test in group), ())
    place = group.index(test) if group else 0
    return group[place - 1] if place else None


def _conditions(test: Test) -> tuple[object, ...]:
    """Return all that has to be the same for two tests to be one test done again."""
    exposure, developed = test.exposure, test.developed
    return (
        test.exposure_index,
        developed.developer,
        developed.temperature_c,
        developed.time_min,
        exposure.wedge,
        exposure.lux_s,
        exposure.u_lux_s,
    )
