"""What a qualification assumes; every field is an option of `bimcheck pullout` and a row of its assumptions sheet."""

from __future__ import annotations

from typing import Literal

from bimcheck.core.settings import Section, setting


class Qualification(Section):
    """How series are evaluated, and against what they are held."""

    fractile: float = setting(0.05, "fractile of the characteristic value", source="EN 1990 4.2(3), EN 12372", gt=0, lt=0.5)
    confidence: float = setting(0.75, "confidence of the tolerance factor k", source="ISO 16269-6 one-sided; EN 1990 D.7.1 note", gt=0.5, lt=1)
    factor: Literal["iso16269-6", "en1990-d1"] = setting("iso16269-6", "'iso16269-6': fractile exceeded at the stated confidence; 'en1990-d1': prediction of the next specimen (EN 1990 Table D.1), another quantity", source="ISO 16269-6, EN 1990 D.7.2")
    known_cov: float | None = setting(None, "coefficient of variation known beforehand; then k for known sigma is used", source="EN 1990 D.7.1(5)", gt=0, lt=1)
    distribution: Literal["lower", "normal", "lognormal"] = setting("lower", "distribution of the pull-out value: the lower of both, normal, log-normal", source="engineer's choice")
    flexural_distribution: Literal["lower", "normal", "lognormal"] = setting("lognormal", "distribution of the flexural strength", source="EN 12372 statistical annex: log-normal (from memory)")
    outlier_side: Literal["two-sided", "least", "greatest"] = setting("two-sided", "side of the Grubbs test", source="ISO 5725-2 7.3.4 (from memory)")
    outlier_alpha: float = setting(0.05, "significance of the Grubbs test", source="ISO 5725-2: 5 % straggler (from memory)", gt=0, lt=0.5)
    alpha: float = setting(0.05, "significance of comparisons and normality", gt=0, lt=0.5)
    trivial: float = setting(0.05, "difference of means, over their mean, that never keeps groups apart", gt=0, lt=1)
    unseen: float = setting(0.20, "difference of means, over their mean, that the interval must exclude before groups are pooled", gt=0, lt=1)
    scatter_ratio: float = setting(1.5, "ratio of standard deviations below which scatter never keeps groups apart", ge=1)
    gamma_M: float | None = setting(None, "partial factor on the characteristic value", source="project data", ge=1)
    global_factor: float | None = setting(None, "global factor on the mean", source="project data", ge=1)
    eta: float = setting(1.0, "further conditioning factor on design values (1: none applied)", source="project data", gt=0, le=1)
    specimens: Literal["practice", "astm-c1354"] = setting("practice", "least number of specimens: 10 by practice, 5 by ASTM C1354", source="common practice, no source; ASTM C1354")
    cov_limit: float = setting(0.20, "coefficient of variation above which a series is flagged", gt=0)
    age_years: float = setting(5.0, "age above which a series is flagged", unit="years", gt=0)
    cone_ratio: float = setting(3.0, "least support ring over embedment: width of a breakout cone", source="1.5 embedments to each side, concrete breakout of EN 1992-4 7.2.1.4 (from memory)", gt=0)
    edge_mm: float | None = setting(None, "edge distance the project uses; left out: not compared", unit="mm", source="project data", gt=0)
    embedment_mm: float | None = setting(None, "embedment the project uses; left out: not compared", unit="mm", source="project data", gt=0)

    rows: Literal["characteristic", "mean"] = setting("characteristic", "what the material rows state: characteristic value, or mean for the global-factor format", source="engineer's choice")

    @property
    def least_specimens(self) -> int:
        return 5 if self.specimens == "astm-c1354" else 10


ASSUMED_GAMMA_M = 2.0
ASSUMED_GLOBAL_FACTOR = 4.0
