"""What a day of potting says of roots that nobody logged: the intervals of a way as one sum. Pure.

Who logs sticking and potting alone has told the sum of the days to roots, to well rooted and to potting. Along that sum
a lot's offset is learned as along any single interval (`learning`), the levels of its spread being those of the parts,
each weighed by its part of the days. What the sum has moved by is then shared among the parts as normals are: the
vaguer a part, and the longer, the more of it (Anderson 2003, An Introduction to Multivariate Statistical Analysis,
theorem 2.5.1). The parts are then no longer independent of each other, so what is to come is forecast by their sum.

Potting is forecast by the whole sum, as dated signs between add noise of their own: in drawn nurseries they made it no
better. A sign that most potted lots lack is one this grower passes over, so looks without it say nothing.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from functools import cached_property
from math import exp, fsum, log, log1p, sqrt

from almanac.forecast.durations import Arrival, Normal, order_statistic
from almanac.forecast.learning import Learned
from almanac.forecast.thermal import Pace
from almanac.plain import dataclass, replace
from almanac.rulebook.models import Duration

_USUAL = 12  # cuttings in a lot, where the parts of a sum are weighed


@dataclass(frozen=True, kw_only=True)
class Part:
    """One interval of a sum: log of the median days, by what is known without the sum; variances of each level.

    `share` of the cuttings ends it; `act` where the grower does, and the lot counts as one.
    """

    name: str
    log_median: float
    growers: float
    varieties: float
    lots: float
    within: float
    share: float | None
    act: bool = False

    def standing(self, of: int, rooting: tuple[float, ...]) -> tuple[float, float]:
        """What the share adds to the log of the days, and with what variance."""
        score, spread = order_statistic(1 if self.act else of, None if self.act else self.share, rooting)
        return self.within * score, (self.within * spread) ** 2


def part(name: str, rule: Duration, learned: Learned | None, share: float | None, *, act: bool) -> Part:
    """A part by the rule, moved by what is learned of it alone."""
    wider = learned.wider if learned else 1.0
    return Part(
        name=name,
        log_median=log(rule.median) + (learned.grower.mean if learned else 0.0),
        growers=learned.grower.var if learned else rule.between_growers**2,
        varieties=(rule.between_varieties * wider) ** 2,
        lots=(rule.between_lots * wider) ** 2,
        within=rule.spread * (learned.cuttings if learned else 1.0),
        share=share,
        act=act,
    )


@dataclass(frozen=True, kw_only=True)
class Sum:
    """The parts of a way from one milestone to another, and what is learned of their sum; None before that."""

    start: str
    parts: tuple[Part, ...]
    rooting: tuple[float, ...]
    learned: Learned | None = None

    @property
    def end(self) -> str:
        return self.parts[-1].name

    def log_median(self, of: int) -> float:
        """The log of the median days of a lot of so many."""
        return self._fitted(of)[0]

    def _fitted(self, of: int) -> tuple[float, float, list[float]]:
        """The log-normal of the sum (Fenton 1960): log of its median, its variance, the mean days of each part."""
        means, variances = [], []
        for each in self.parts:
            adds, spread2 = each.standing(of, self.rooting)
            sigma2 = each.growers + each.varieties + each.lots + spread2
            means.append(exp(each.log_median + adds + sigma2 / 2))
            variances.append(means[-1] ** 2 * (exp(sigma2) - 1))
        total = fsum(means)
        sigma2 = log1p(fsum(variances) / total**2)
        return log(total) - sigma2 / 2, sigma2, means

    @cached_property
    def _weights(self) -> list[float]:
        """How much the log of the sum moves with that of each part."""
        _, sigma2, means = self._fitted(_USUAL)
        shares = [mean / fsum(means) for mean in means]
        every = [
            each.growers + each.varieties + each.lots + each.standing(_USUAL, self.rooting)[1] for each in self.parts
        ]
        scale = sqrt(sigma2 / fsum(share**2 * var for share, var in zip(shares, every, strict=True)))
        return [scale * share for share in shares]

    def _level(self, variances: Sequence[float]) -> float:
        return fsum(weight**2 * var for weight, var in zip(self._weights, variances, strict=True))

    def rule(self, like: Duration) -> Duration:
        """The spreads of the sum, as those of one interval."""
        return replace(
            like,
            median=exp(self.log_median(_USUAL)),
            spread=sqrt(self._level([each.standing(_USUAL, self.rooting)[1] for each in self.parts])),
            between_lots=sqrt(self._level([each.lots for each in self.parts])),
            between_varieties=sqrt(self._level([each.varieties for each in self.parts])),
            between_growers=sqrt(self._level([each.growers for each in self.parts])),
        )

    def _moved(self, told: Normal, number: int, variances: Sequence[float], lots: float = 0.0) -> Normal:
        """By how much a part moves where its sum, of such variances, is told; `lots` is what single lots add there."""
        before = self._level(variances)
        takes = self._weights[number] * variances[number] / before if before else 0.0
        return Normal(mean=takes * told.mean, var=-(takes**2) * max(before - (told.var - lots), 0.0))

    @cached_property
    def _of_varieties(self) -> list[float]:
        return [each.growers + each.varieties for each in self.parts]

    @cached_property
    def _of_lots(self) -> float:
        """How far single lots of a variety differ in the sum, as learned."""
        assert self.learned
        return self._level([each.lots for each in self.parts]) * self.learned.wider**2

    def shared(self, number: int, alone: Learned | None) -> Learned:
        """What is known of a part, alone and by the sum together."""
        assert self.learned
        told, each = self.learned, self.parts[number]
        wider = alone.wider if alone else told.wider
        lots = each.lots if alone else each.lots * wider**2
        grower = alone.grower if alone else Normal(mean=0.0, var=each.growers)
        other = alone.other if alone else Normal(mean=0.0, var=each.growers + each.varieties + lots)
        names = dict.fromkeys((*told.varieties, *(alone.varieties if alone else ())))
        known = {lot: told.offset(lot, "") for lot in told.lots}

        def after(before: Normal, by_sum: Normal) -> Normal:
            moved = self._moved(by_sum, number, self._of_varieties, self._of_lots)
            return Normal(mean=before.mean + moved.mean, var=max(before.var + moved.var, lots))

        of_grower = self._moved(told.grower, number, [item.growers for item in self.parts])
        varieties = {
            name: after(alone.varieties.get(name, other) if alone else other, told.varieties.get(name, told.other))
            for name in names
        }
        found = Learned(
            grower=Normal(mean=grower.mean + of_grower.mean, var=max(grower.var + of_grower.var, 1e-6)),
            varieties=varieties,
            lots={lot: after(alone.lots.get(lot, other) if alone else other, by_sum) for lot, by_sum in known.items()},
            other=after(other, told.other),
            wider=wider,
            cuttings=alone.cuttings if alone else told.cuttings,
            potted=told.finished,
        )
        if alone is None:
            return found
        own = {lot: after(before, told.other) for lot, before in alone.lots.items() if lot not in known}
        return replace(
            found,
            lots={**own, **found.lots},
            held_out=alone.held_out,
            finished=alone.finished,
            waiting=alone.waiting,
            unlooked=alone.unlooked,
            given_up=alone.given_up,
            potted=alone.potted + told.finished,
        )

    def arrival(self, upto: str, lot: str, variety: str, of: int, pace: Pace, not_by: date) -> Arrival:
        """When a milestone on the way comes, counted along a pace from the start of the sum."""
        assert self.learned
        told, wider = self.learned.offset(lot, variety), self.learned.wider
        off = Normal(mean=told.mean, var=told.var)
        mean = var = shared = 0.0
        for number, each in enumerate(self.parts):
            moved = self._moved(off, number, self._of_varieties, self._of_lots)
            adds, spread2 = each.standing(of, self.rooting)
            single = (each.lots + spread2) * wider**2
            known = self._of_varieties[number]
            days = exp(each.log_median + moved.mean + adds * self.learned.cuttings + (known + moved.var + single) / 2)
            mean += days
            var += days**2 * (single + known)
            shared += days * self._weights[number] * known
            if each.name == upto:
                break
        before = self._level(self._of_varieties)
        var -= (shared / before) ** 2 * max(before - (told.var - self._of_lots), 0.0) if before else 0.0
        sigma2 = log1p(max(var, 1e-9) / mean**2)
        return Arrival(
            pace=pace, log_median=log(mean) - sigma2 / 2, sigma=sqrt(sigma2), not_by=max(not_by, pace.origin)
        )
