"""Tidying as a whole: bounds kept, as little changed as possible, and said when it cannot be done.

The pictures are those that scikit-image ships. Their filtered rivals come from scipy, the supplies
from the plan that is knitted from (computed here).
"""

from typing import Literal

import hypothesis.extra.numpy as arrays
import numpy as np
import pytest
import scipy
import skimage.data
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from PIL import Image
from supply_checks import chart_of, script_of

from caller.errors import ChartError, SettingError
from caller.pattern.bed import Bed
from caller.pattern.chart import Chart
from caller.pattern.rows import RowScript, run_table
from caller.pattern.supplies.plan import assign_supplies
from caller.pattern.tidy.report import TidyResult
from caller.pattern.tidy.settings import TidySettings
from caller.pattern.tidy.tidying import tidy, yarn_errors
from caller.pattern.workload import summary

REACH = 5  # the longest float in stitches by one teacher (seen; sources disagree)


def alike(chart: Chart, yarns: int | None = None) -> NDArray[np.float32]:
    """An error of 1 for every change."""
    count = yarns or int(chart.cells.max()) + 1
    return (chart.cells[..., None] != np.arange(count)).astype(np.float32)


def script(chart: Chart, first: Literal["right", "left"] = "right") -> RowScript:
    return RowScript(chart, Bed(max(200, chart.stitches)), 0, first)


def tidied(chart: Chart, wanted: TidySettings, reach: int = REACH) -> TidyResult:
    return tidy(script(chart), alike(chart), wanted, reach)


def outcome(laid: RowScript, wanted: TidySettings, reach: int, rest: int = 0) -> TidyResult | str:
    """The result, or the sentence that says why there is none."""
    try:
        return tidy(laid, alike(laid.chart), wanted, reach, rest)
    except ChartError as error:
        return str(error)


def written(chart: Chart) -> list[str]:
    return ["".join(".abcdefgh"[yarn] for yarn in row) for row in chart.cells[::-1].tolist()]


def shortest_run(chart: Chart) -> int:
    table = run_table(chart)
    return int((table.right - table.left + 1).min())


def smallest_block(chart: Chart) -> int:
    sizes = []
    for yarn in np.unique(chart.cells):
        labels, _ = scipy.ndimage.label(chart.cells == yarn)
        sizes += np.bincount(labels.ravel())[1:].tolist()
    return min(sizes)


# What a knitter sees


@pytest.mark.parametrize(
    ("rows", "wanted", "expected"),
    [
        pytest.param(
            ["..........", "...a......", "..........", "....bbb...", "....bbb..."],
            TidySettings(specks=1),
            ["..........", "..........", "..........", "....bbb...", "....bbb..."],
            id="a speck vanishes, a block stays",
        ),
        pytest.param(
            ["...aaaa...", "...aa.a...", "...aaaa...", "a.aaaaaaaa"],
            TidySettings(shortest_run=2),
            ["...aaaa...", "...aaaa...", "...aaaa...", "aaaaaaaaaa"],
            id="short runs are closed, at the edge too",
        ),
        pytest.param(
            [".aa..b..aa.", ".aa..b..aa.", ".aaaaaaaaa."],
            TidySettings(at_once=5),
            [".aa.....aa.", ".aa.....aa.", ".aaaaaaaaa."],
            id="a row that is too full loses its smallest run",
        ),
        pytest.param(
            ["............", "...aaaa.....", "...aaaa..b..", "...aaaa..b..", "............"],
            TidySettings(in_all=4),
            ["............", "...aaaa.....", "...aaaa.....", "...aaaa.....", "............"],
            id="the block that shows least goes first",
        ),
    ],
)
def test_examples(rows: list[str], wanted: TidySettings, expected: list[str]) -> None:
    chart = script_of(*rows).chart
    assert written(tidied(chart, wanted).chart) == expected


def test_report() -> None:
    chart = script_of("........", "..a.....", "......b.", "..bb..b.", "..bb..b.").chart
    result = tidied(chart, TidySettings(specks=1))
    report = result.report
    assert report.lost_yarns == (1,)
    assert np.argwhere(report.changed).tolist() == [[3, 2]]
    assert not report.kept.any()
    assert np.array_equal(report.changed, result.chart.cells != chart.cells)
    assert (report.before.colour_changes, report.after.colour_changes) == (12, 10)
    assert (report.before.single_stitches, report.after.single_stitches) == (7, 6)
    for effort, knitted in ((report.before, chart), (report.after, result.chart)):
        expected = summary(assign_supplies(script(knitted), REACH))
        assert effort.supplies == expected.supplies
        assert effort.at_once == expected.clips
        assert effort.longest_carry == expected.longest_carry
        assert effort.single_stitches == expected.single_stitches


def test_price_found_is_in_colour_errors() -> None:
    chart = script_of("............", "...aaaa..b..", "...aaaa..b..", "............").chart
    report = tidy(script(chart), 20 * alike(chart), TidySettings(in_all=4), REACH).report
    # The two stitches of b cost 40; they take two supplies and two times two runs. The search for
    # the price ends within a tenth.
    assert report.changed.sum() == 2
    assert 40 / 4 < report.price < 44
    cheap = tidy(script(chart), 20 * alike(chart), TidySettings(price=report.price), REACH)
    assert np.array_equal(cheap.report.changed, report.changed)
    assert cheap.report.price == pytest.approx(report.price, rel=1e-3)


# Bounds


@st.composite
def charts(draw: st.DrawFn) -> Chart:
    shape = (draw(st.integers(1, 12)), draw(st.integers(1, 16)))
    return Chart(draw(arrays.arrays(np.uint8, shape, elements=st.integers(0, 3))))


@settings(max_examples=60)
@given(
    charts(),
    st.integers(1, 5),
    st.integers(0, 6),
    st.none() | st.integers(1, 8),
    st.floats(0, 3),
    st.integers(0, 6),
)
def test_bounds_are_kept(
    chart: Chart, shortest: int, specks: int, at_once: int | None, price: float, reach: int
) -> None:
    shortest = min(shortest, chart.stitches)
    specks = min(specks, chart.stitches - 1)
    wanted = TidySettings(shortest, specks, at_once, None, price)
    if len(np.unique(chart.cells)) == 1:
        assert tidied(chart, wanted, reach).chart == chart
        return
    result = outcome(script(chart), wanted, reach)
    if isinstance(result, str):
        assert "single colour" in result
        return
    assert shortest_run(result.chart) >= shortest
    assert smallest_block(result.chart) > specks
    assert result.report.after.at_once <= (at_once or chart.stitches)
    assert set(np.unique(result.chart.cells)) <= set(np.unique(chart.cells))
    assert len(np.unique(result.chart.cells)) >= 2


@settings(max_examples=40)
@given(charts(), st.integers(1, 12), st.integers(0, 2), st.integers(0, 6))
def test_supplies_in_all_are_kept_to_or_the_fewest_are_named(
    chart: Chart, in_all: int, rest: int, reach: int
) -> None:
    wanted = TidySettings(in_all=in_all)
    result = outcome(script(chart), wanted, reach, rest)
    if isinstance(result, str):
        assert f"to {in_all} supplies in all" in result
        assert int(result.split("Allow at least ")[1].split(",")[0]) > in_all
        return
    plan = assign_supplies(script(result.chart), reach, rest)
    assert plan.total == result.report.after.supplies <= in_all
    before = assign_supplies(script(chart), reach, rest).total
    assert (result.chart == chart) == (before <= in_all)


@settings(max_examples=30)
@given(charts(), st.integers(2, 5), st.integers(0, 3))
def test_supplies_at_once_count_those_at_rest(chart: Chart, at_once: int, rest: int) -> None:
    result = outcome(script(chart), TidySettings(at_once=at_once), REACH, rest)
    if isinstance(result, str):
        crowded = f"the fullest row cannot be brought down to {at_once} supplies at once"
        assert "single colour" in result or crowded in result
        return
    assert assign_supplies(script(result.chart), REACH, rest).at_once <= at_once


def test_fewer_runs_where_supplies_at_rest_crowd_a_row() -> None:
    laid = script_of("aabb.baa", "b.abbaa.", "abbabbba", ".abaabbb", "a....baa")
    wanted = TidySettings(at_once=4)
    at_rest = assign_supplies(script(tidied(laid.chart, wanted).chart), REACH, 2)
    assert at_rest.at_once > 4  # four runs are not few enough
    result = tidy(script(laid.chart), alike(laid.chart), wanted, REACH, 2)
    assert assign_supplies(script(result.chart), REACH, 2).at_once <= 4


def test_supplies_at_rest_beside_what_is_kept_may_be_too_many() -> None:
    # All is kept. In the middle row a and b rest, so that three supplies hang there.
    chart = script_of("aabb", "....", "aabb").chart
    assert assign_supplies(script(chart), REACH, 1).at_once == 3
    kept = np.ones((3, 4), dtype=bool)
    with pytest.raises(ChartError, match=r"down to 2 supplies at once; .* are 3") as refused:
        tidy(script(chart), alike(chart), TidySettings(at_once=2), REACH, 1, kept=kept)
    assert refused.value.remedy == "Allow at least 3, or let no supply rest."
    report = tidy(script(chart), alike(chart), TidySettings(at_once=3), REACH, 1, kept=kept).report
    assert report.kept.all()


@given(charts(), st.integers(0, 6), st.integers(0, 2))
@settings(max_examples=40)
def test_nothing_asked_changes_nothing(chart: Chart, reach: int, rest: int) -> None:
    result = tidy(script(chart), alike(chart), TidySettings(), reach, rest)
    assert result.chart == chart
    assert not result.report.changed.any()
    assert result.report.before == result.report.after
    assert (result.report.price, result.report.lost_yarns) == (0.0, ())


@given(charts(), st.integers(1, 4), st.integers(1, 6))
@settings(max_examples=40)
def test_rows_within_bounds_stay_as_they_are(chart: Chart, shortest: int, at_once: int) -> None:
    shortest = min(shortest, chart.stitches)
    result = outcome(script(chart), TidySettings(shortest, at_once=at_once), REACH)
    if isinstance(result, str):
        assert "single colour" in result
        return
    for before, after in zip(chart.cells, result.chart.cells, strict=True):
        row = Chart(before[None])
        whole = shortest_run(row) >= shortest and len(run_table(row).row) <= at_once
        assert np.array_equal(before, after) or not whole


def test_a_chart_that_keeps_to_everything_stays_as_it_is() -> None:
    chart = chart_of(Image.fromarray(skimage.data.coffee()), 40, 4)
    once = tidied(chart, TidySettings(shortest_run=2, specks=4, at_once=9)).chart
    assert once != chart
    assert tidied(once, TidySettings(shortest_run=2, specks=4, at_once=9)).chart == once


def test_yarns_that_are_not_in_the_chart_are_not_used() -> None:
    chart = Chart(np.array([[5, 5, 2, 5], [5, 5, 5, 5], [2, 2, 2, 2]]))
    errors = np.zeros((3, 4, 8), dtype=np.float32)  # any other yarn would do as well
    result = tidy(script(chart), errors, TidySettings(shortest_run=2), REACH)
    assert set(np.unique(result.chart.cells)) == {2, 5}


def test_yarns_that_look_alike_are_not_exchanged_for_nothing() -> None:
    laid = script_of("..a.....bbbb")
    errors = np.zeros((1, 12, 3), dtype=np.float32)
    result = tidy(laid, errors, TidySettings(shortest_run=2), REACH)
    assert written(result.chart) == ["........bbbb"]


# Less for the same


FILTERS = {
    "majority": lambda chart, size: np.argmax(
        [
            # The stitch's own yarn wins a tie.
            scipy.ndimage.uniform_filter((chart.cells == yarn).astype(float), size, mode="nearest")
            + 1e-6 * (chart.cells == yarn)
            for yarn in range(int(chart.cells.max()) + 1)
        ],
        axis=0,
    ),
    "median": lambda chart, size: scipy.ndimage.median_filter(chart.cells, size, mode="nearest"),
}


@pytest.mark.parametrize("name", ["chelsea", "coffee"])
@pytest.mark.parametrize("kind", FILTERS)
@pytest.mark.parametrize("size", [3, 5])
def test_fewer_supplies_than_a_filter_for_the_same_stitches(
    name: str, kind: str, size: int
) -> None:
    chart = chart_of(Image.fromarray(getattr(skimage.data, name)()), 60, 5)
    filtered = Chart(FILTERS[kind](chart, size))
    supplies = assign_supplies(script(filtered), REACH).total
    result = tidied(chart, TidySettings(in_all=supplies * 3 // 4))
    assert result.report.changed.sum() <= np.count_nonzero(filtered.cells != chart.cells)


def test_fewer_supplies_take_more_changes() -> None:
    chart = chart_of(Image.fromarray(skimage.data.rocket()), 50, 5)
    before = assign_supplies(script(chart), REACH).total
    changed = [
        int(tidied(chart, TidySettings(in_all=before * part // 8)).report.changed.sum())
        for part in (8, 6, 4, 2, 1)
    ]
    assert changed[0] == 0
    assert changed == sorted(set(changed))


def test_colour_error_decides_what_goes() -> None:
    # Two specks alike but for their colour: a hardly differs from the ground, b does.
    chart = script_of("............", "...a....b...", "............").chart
    errors = yarn_errors(chart, [(200, 200, 200), (190, 190, 190), (0, 0, 0)])
    result = tidy(script(chart), errors, TidySettings(in_all=3), REACH)
    assert result.report.lost_yarns == (1,)


def test_yarn_errors_are_colour_differences() -> None:
    errors = yarn_errors(Chart(np.array([[0, 1, 1]])), [(0, 0, 0), (255, 255, 255)])
    # CIEDE2000 from black to white is 100 (computed: L* 0 and 100 weigh alike around 50).
    assert errors[0] == pytest.approx(np.array([[0, 100], [100, 0], [100, 0]]), abs=0.01)


@pytest.mark.parametrize("first", ["right", "left"])
def test_the_same_every_time(first: Literal["right", "left"]) -> None:
    chart = chart_of(Image.fromarray(skimage.data.chelsea()), 40, 4)
    wanted = TidySettings(2, 4, 12, 40)
    one, two = (tidy(script(chart, first), alike(chart), wanted, REACH) for _ in range(2))
    assert one.chart == two.chart
    assert one.report.price == two.report.price
    doubled = tidy(script(chart, first), 2 * alike(chart), wanted, REACH)
    assert doubled.chart == one.chart
    assert doubled.report.price == pytest.approx(2 * one.report.price)


def test_a_mirrored_chart_takes_the_same_supplies() -> None:
    chart = chart_of(Image.fromarray(skimage.data.chelsea()), 60, 4)
    mirrored = Chart(chart.cells[:, ::-1])
    wanted = TidySettings(at_once=10)
    one = tidy(script(chart), alike(chart), wanted, REACH).report
    two = tidy(script(mirrored, "left"), alike(mirrored), wanted, REACH).report
    assert one.before == two.before
    assert one.after.at_once == two.after.at_once == 10


def test_progress_never_goes_back_when_rows_are_made_emptier_again() -> None:
    laid = script_of("aabb.baa", "b.abbaa.", "abbabbba", ".abaabbb", "a....baa")
    told: list[float] = []
    tidy(
        script(laid.chart),
        alike(laid.chart),
        TidySettings(at_once=4, in_all=6),
        REACH,
        2,
        progress=told.append,
    )
    assert told == sorted(told)
    assert (told[0], told[-1]) == (0.0, 1.0)


def test_progress_goes_from_nothing_to_done() -> None:
    chart = chart_of(Image.fromarray(skimage.data.rocket()), 60, 5)
    told: list[float] = []
    tidy(script(chart), alike(chart), TidySettings(in_all=30), REACH, progress=told.append)
    assert told == sorted(told)
    assert 0 <= told[0] < 0.5
    assert told[-1] == 1.0
    assert len(told) > 5


# Refused


@pytest.mark.parametrize(
    ("wrong", "sentence"),
    [
        ({"shortest_run": 0}, "shortest run of 0"),
        ({"shortest_run": 2.0}, "shortest run of 2.0"),
        ({"shortest_run": True}, "shortest run of True"),
        ({"shortest_run": None}, "shortest run of None"),
        ({"specks": -1}, "largest speck of -1"),
        ({"specks": None}, "largest speck of None"),
        ({"at_once": 0}, "supplies at once of 0"),
        ({"at_once": False}, "supplies at once of False"),
        ({"in_all": 0}, "supplies in all of 0"),
        ({"in_all": "12"}, "supplies in all of 12"),
        ({"price": -0.1}, "price of -0.1"),
        ({"price": float("nan")}, "price of nan"),
        ({"price": float("inf")}, "price of inf"),
    ],
)
def test_settings_without_sense_are_refused(wrong: dict[str, float], sentence: str) -> None:
    with pytest.raises(SettingError, match=sentence):
        TidySettings(**wrong)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("wanted", "sentence"),
    [
        (TidySettings(shortest_run=9), "9 stitches long in a chart 8 stitches wide"),
        (TidySettings(specks=8), "Specks of 8 stitches"),
    ],
)
def test_settings_wider_than_the_chart_are_refused(wanted: TidySettings, sentence: str) -> None:
    chart = script_of("........", "..a.....").chart
    with pytest.raises(SettingError, match=sentence):
        tidied(chart, wanted)


def test_a_run_as_wide_as_the_chart_makes_stripes() -> None:
    chart = script_of("....aaaaa", "...aaaaaa", "aaaaa....", "........a").chart
    result = tidied(chart, TidySettings(shortest_run=9))
    assert written(result.chart) == ["a" * 9, "a" * 9, "a" * 9, "." * 9]


def test_fewer_supplies_than_there_can_be_are_refused() -> None:
    chart = script_of("aaaa", "a.aa", "aaaa", "....", "....").chart
    with pytest.raises(ChartError, match=r"to 1 supplies in all.*are 2\. Allow at least 2,"):
        tidied(chart, TidySettings(in_all=1))
    assert tidied(chart, TidySettings(in_all=2)).report.changed.sum() == 1


def test_a_single_colour_is_refused() -> None:
    chart = script_of("......", "..a...", "......").chart
    for wanted in (TidySettings(specks=1), TidySettings(price=1e9), TidySettings(at_once=1)):
        with pytest.raises(ChartError, match="single colour") as refused:
            tidied(chart, wanted)
        assert refused.value.remedy.startswith("allow more supplies")


def test_carries_and_rests_out_of_range_are_refused() -> None:
    chart = script_of("...", ".a.").chart
    for reach, rest in ((-1, 0), (0, -1), (2001, 0)):
        with pytest.raises(SettingError, match="cannot be used"):
            tidy(script(chart), alike(chart), TidySettings(), reach, rest)


@pytest.mark.parametrize(
    "errors",
    [
        np.zeros((2, 3)),
        np.zeros((3, 2, 2)),
        np.zeros((2, 3, 1)),
        np.full((2, 3, 2), np.nan),
        np.full((2, 3, 2), np.inf),
    ],
    ids=["flat", "turned", "too few yarns", "not numbers", "endless"],
)
def test_errors_that_do_not_fit_are_refused(errors: NDArray[np.float32]) -> None:
    chart = Chart(np.array([[0, 0, 0], [0, 1, 0]]))
    with pytest.raises(ChartError, match="colour error"):
        tidy(script(chart), errors.astype(np.float32), TidySettings(), REACH)


def test_a_chart_too_large_is_refused() -> None:
    chart = Chart(np.zeros((20_000, 600), dtype=np.uint8))
    errors = np.broadcast_to(np.float32(0), (20_000, 600, 24))
    with pytest.raises(ChartError, match="too large to tidy"):
        tidy(script(chart), errors, TidySettings(), REACH)
