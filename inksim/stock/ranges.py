"""Ranges of what a shop's files say of its stock, wider than anything that is sold.

Beyond them a number is in another unit, or slipped a digit. The types stand at the fields of the
nouns, where the files' schema finds them; a noun itself refuses only what cannot be.
"""

from __future__ import annotations

from typing import Annotated

from annotated_types import Gt, Interval

Positive = Annotated[float, Gt(0)]
Share = Annotated[float, Interval(ge=0, le=1)]
Solids = Annotated[float, Interval(ge=0.01, le=1)]
Density = Annotated[float, Interval(ge=0.3, le=10)]
Mesh = Annotated[float, Interval(ge=5, le=2000)]
ThreadUm = Annotated[float, Interval(ge=5, le=2000)]
FabricWeight = Annotated[float, Interval(ge=10, le=3000)]
Money = Annotated[float, Interval(ge=0, le=1e6)]
Passes = Annotated[int, Interval(ge=1, le=4)]
Celsius = Annotated[float, Interval(ge=40, le=250)]
CureSeconds = Annotated[float, Interval(ge=1, le=1200)]
Hours = Annotated[float, Interval(gt=0, le=1000)]
Grade = Annotated[int, Interval(ge=1, le=5)]
Grams = Annotated[float, Interval(ge=0, le=250_000)]
