"""The inch, 25.4 mm exactly (international yard and pound agreement, 1959)."""

from __future__ import annotations

MM_PER_INCH = 25.4
CM_PER_INCH = MM_PER_INCH / 10.0
