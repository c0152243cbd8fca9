"""Hands that do what a call says, to the letter: they hang, take up, lay and cut ends.

They know nothing of the plan. An end that is told without a place is the one of its yarn that
hangs nearest to where it is laid, which must be there or on the next needle and nearer than any
other; all else must be told. Edges are shaped stitch by stitch, and ends go with their stitches.
The hands stop the test when a call cannot be followed.
"""

from dataclasses import dataclass, field

from row_decoder import End, Heard, Laid, Shaped
from transfers import tool_for, transferred


@dataclass
class Hung:
    """An end on the bed: where it hangs, and whether it has been laid in this row."""

    yarn: str
    bobbin: int | None
    needle: int
    laid: bool = False


@dataclass
class Hands:
    """What hangs, and the rows that have been knitted, as the yarn of each needle.

    How the edges are shaped is known from the pattern: `fully_fashioned` or not. `in_work` are the
    first and last needle that hold stitches.
    """

    fully_fashioned: bool = True
    in_work: tuple[int, int] = (0, -1)
    hanging: list[Hung] = field(default_factory=list)
    knitted: list[tuple[str, ...]] = field(default_factory=list)
    binds_off: Hung | None = None
    hung: int = 0
    cut: int = 0

    def follow(self, row: Heard) -> None:
        for end in row.hung:
            assert end.at is not None
            self._hang(end, end.at)
        for end in self.hanging:
            end.laid = False
        narrower = min(self.in_work[1] - self.in_work[0], row.last - row.first) + 1
        tool = tool_for(narrower, self.fully_fashioned)
        for shaped in row.shapes:
            self._shape(shaped, tool)
        if row.row > 1:
            assert self.in_work == (row.first, row.last)
        self.in_work = row.first, row.last
        just_laid: Hung | None = None
        for one in row.laid:
            end = self._hang(one.end, one.first) if one.end.new else self._take_up(one)
            assert not end.laid, "an end cannot be laid twice in a row"
            assert one.under is None or (just_laid and just_laid.yarn == one.under)
            end.laid, end.needle = True, one.last
            just_laid = end
        self.knitted.append(row.yarns)
        for cut in row.cuts:
            assert cut.at is not None
            self._cut(self._only(self._at(cut, cut.at)))
        if row.cuts_all is not None:
            keep = [] if row.kept is None else self._at(row.kept, row.kept.at)
            assert row.cuts_all == len(self.hanging) - len(keep)
            for end in list(self.hanging):
                if end not in keep:
                    self._cut(end)
        if row.kept is not None:
            self.binds_off = self._only(self._at(row.kept, row.kept.at))

    def _shape(self, told: Shaped, tool: int) -> None:
        first, last = self.in_work
        if told.fully_fashioned is not None:
            assert told.fully_fashioned == (tool > 1)
        binding = None
        if told.kind == "bind off":
            assert told.end is not None
            binding = self._only(self._at(told.end, first if told.side == "left" else last))
        bed: dict[int, list[Hung]] = {needle: [] for needle in range(first, last + 1)}
        for end in self.hanging:
            bed[end.needle].append(end)
        bed = transferred(bed, told.kind, told.side, told.stitches, tool)
        for needle, ends in bed.items():
            for end in ends:
                end.needle = needle
        self.in_work = min(bed), max(bed)
        if told.kind == "cast on":
            assert told.end is not None
            innermost = first - 1 if told.side == "left" else last + 1
            winding = (
                self._hang(told.end, innermost)
                if told.end.new
                else self._take_up(Laid(told.end, innermost, innermost))
            )
            winding.needle = told.edge
        if told.cut:
            assert binding is not None
            self._cut(binding)

    def _hang(self, end: End, needle: int) -> Hung:
        bobbins = [other.bobbin for other in self.hanging if other.yarn == end.yarn]
        assert end.bobbin not in bobbins, "that bobbin hangs already"
        assert end.bobbin is not None or not bobbins, "which bobbin?"
        self.hanging.append(Hung(end.yarn, end.bobbin, needle))
        self.hung += 1
        return self.hanging[-1]

    def _take_up(self, one: Laid) -> Hung:
        if one.end.at is not None:
            return self._only([end for end in self._at(one.end, one.end.at) if not end.laid])
        near = sorted(
            (abs(end.needle - one.first), number, end)
            for number, end in enumerate(self.hanging)
            if end.yarn == one.end.yarn and not end.laid
        )
        assert near, f"no {one.end.yarn} hangs for needle {one.first}"
        assert near[0][0] <= 1, f"{one.end.yarn} hangs {near[0][0]} needles away"
        assert len(near) == 1 or near[1][0] > near[0][0] + 1, "two ends hang nearly as near"
        return near[0][2]

    def _at(self, told: End, needle: int) -> list[Hung]:
        return [
            end
            for end in self.hanging
            if (end.yarn, end.needle) == (told.yarn, needle) and told.bobbin in (None, end.bobbin)
        ]

    def _only(self, found: list[Hung]) -> Hung:
        assert len(found) == 1, f"{len(found)} ends fit"
        return found[0]

    def _cut(self, end: Hung) -> None:
        self.hanging.remove(end)
        self.cut += 1
