"""What may trouble the knitter, as sentences of the plan."""

from collections.abc import Iterator, Sequence

from caller.calling.words.numbers import counted
from caller.pattern import amounts
from caller.pattern.pattern import Pattern
from caller.pattern.tidy.advice import MANY_SUPPLIES, Advice
from caller.pattern.winding import loop_mm
from caller.pattern.workload import crowded, long_carries, summary
from caller.pattern.yarns import Yarn
from caller.sheets.advice import advised


def number_in_name(yarn: Yarn) -> str:
    """What to say of a yarn with a number in its name, where the name is given and in the plan."""
    return (
        f"The yarn {yarn.name!r} has a number in its name, which is easily heard as a needle's; a "
        "name without one is safer, like its colour."
    )


def warnings(pattern: Pattern, advice: Sequence[Advice] = ()) -> Iterator[str]:
    """What may trouble the knitter, each as a sentence, with what was tried against it."""
    plan, bed = pattern.supply_plan, pattern.bed
    total = summary(plan)
    longest = long_carries(plan, 0)[:1] if total.longest_carry > pattern.usual_carry else ()
    for carry in longest:
        yarn = pattern.yarns[carry.yarn].name
        yield (
            f"The longest carry is {carry.needles} needles, {yarn} from "
            f"{bed.label(carry.from_needle)} to {bed.label(carry.to_needle)} in row {carry.row}; "
            "long floats catch, so lower --max-carry if that is too far."
        )
    if total.single_stitches:
        yield (
            f"{counted(total.single_stitches, 'run')} of a single stitch"
            f"{advised(advice, 'shortest_run')}"
        )
    yield from (number_in_name(one) for one in pattern.yarns if one.has_number)
    full = crowded(plan, MANY_SUPPLIES)
    if full:
        rows = sum(stretch.last_row - stretch.first_row + 1 for stretch in full)
        yield (
            f"In {counted(rows, 'row')} more than {MANY_SUPPLIES} ends hang at once, up to "
            f"{total.clips}{advised(advice, 'at_once')}"
        )
    loop = loop_mm(pattern)
    if loop is None:
        yield "Without a gauge no yarn can be worked out; row-caller swatch PATTERN measures it."
        return
    for wound in pattern.yarns:
        if wound.count is not None and wound.count.tex is not None:
            sentence = amounts.tightness_warning(wound.count.tex, loop)
            if sentence:
                yield f"{wound.name}: {sentence}"
    if pattern.gauge is not None:
        check = amounts.row_check(pattern.chart.stitches, loop, pattern.gauge)
        if check.warning:
            yield check.warning
