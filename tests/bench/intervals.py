"""How sure a count is: 95 % intervals for rates and for events an hour."""

from dataclasses import dataclass

CONFIDENCE = 0.95


@dataclass(frozen=True)
class Share:
    """So many of so many."""

    count: int
    of: int

    @property
    def value(self) -> float:
        return self.count / self.of if self.of else float("nan")

    @property
    def interval(self) -> tuple[float, float]:
        """Wilson's score interval (Wilson 1927, JASA 22:209), as scipy has it."""
        from scipy.stats import binomtest

        if not self.of:
            return (0.0, 1.0)
        found = binomtest(self.count, self.of).proportion_ci(CONFIDENCE, method="wilson")
        return float(found.low), float(found.high)

    def __str__(self) -> str:
        low, high = self.interval
        return (
            f"{100 * self.value:5.1f} % ({self.count}/{self.of}, {100 * low:.1f}-{100 * high:.1f})"
        )


@dataclass(frozen=True)
class Hourly:
    """So many events in so many hours."""

    count: int
    hours: float

    @property
    def value(self) -> float:
        return self.count / self.hours if self.hours else float("nan")

    @property
    def interval(self) -> tuple[float, float]:
        """The exact interval of a Poisson rate (Garwood 1936, Biometrika 28:437)."""
        from scipy.stats import chi2

        if not self.hours:
            return (0.0, float("inf"))
        tail = (1 - CONFIDENCE) / 2
        low = chi2.ppf(tail, 2 * self.count) / 2 if self.count else 0.0
        high = chi2.ppf(1 - tail, 2 * self.count + 2) / 2
        return float(low) / self.hours, float(high) / self.hours

    def __str__(self) -> str:
        low, high = self.interval
        return (
            f"{self.value:.2f} an hour ({self.count} in {self.hours:.2f} h, {low:.2f}-{high:.2f})"
        )
