"""Charts of a shop's record: prints on their intervals, chances against what landed, months."""

from __future__ import annotations

from typing import Any

from inksim.ui.charts import INK, finished, frame, kinds_of_mark, tips, words_over

GREY = "#7a7a7a"
KEPT = {"inside the interval": ("circle", INK), "outside": ("cross", "#b01818")}
"""A print against the interval stated for it, by shape, word and shade."""


def record_chart(rows: Any) -> Any:
    """Each print's ΔE00 on the interval stated for it, the oldest print first."""
    import altair as alt

    unmarked = alt.Axis(labels=False, ticks=False)
    highest = 1.08 * float(rows[["Found", "High"]].to_numpy().max())
    base = alt.Chart(rows).encode(x=alt.X("Order:O", title="The oldest print first", axis=unmarked))
    stated = base.mark_rule(strokeWidth=3, color="#7a7a7a").encode(
        y=alt.Y("Low:Q", title="ΔE00 from target", axis=alt.Axis(tickMinStep=1, tickCount=5),
                scale=alt.Scale(domain=[0, highest], nice=False)),
        y2=alt.Y2("High:Q"),
    )  # fmt: skip
    dots = base.mark_point(filled=True, size=48, stroke=INK, strokeWidth=0.6, opacity=1).encode(
        y=alt.Y("Found:Q"),
        **kinds_of_mark("Print:N", KEPT),
        tooltip=tips("Day:N", "Color:N", "Print:N", "Found:Q|.1f", "Low:Q|.1f", "High:Q|.1f"),
    )  # fmt: skip
    return finished(stated + dots, height=170)


def chances_chart(rows: Any) -> Any:
    """Share that landed over the chance stated, with its range; on the line as promised."""
    import altair as alt

    def across(field: str) -> Any:
        return alt.X(
            f"{field}:Q",
            title="Chance stated, %",
            scale=alt.Scale(domain=[0, 100]),
            axis=alt.Axis(tickCount=5),
        )

    up = alt.Y(
        "Landed:Q",
        title="Landed, %",
        scale=alt.Scale(domain=[0, 100]),
        axis=alt.Axis(tickCount=5),
    )
    kept = (
        alt.Chart(frame([{"Stated": 0, "Landed": 0}, {"Stated": 100, "Landed": 100}]))
        .mark_line(color=GREY, strokeWidth=2)
        .encode(x=across("Stated"), y=up)
    )
    base = alt.Chart(rows).encode(x=across("Stated"))
    ranges = base.mark_rule(strokeWidth=2, color=INK).encode(
        y=alt.Y("Low:Q", title="Landed, %"), y2=alt.Y2("High:Q")
    )
    dots = base.mark_point(filled=True, size=90, color=INK, opacity=1).encode(
        y=up, tooltip=tips("Words:N", "Stated:Q|.0f")
    )
    left, right = alt.datum["Stated"] <= 70, alt.datum["Stated"] > 70
    words = [
        layer
        for side, align, dx in ((left, "left", 9), (right, "right", -9))
        for layer in words_over(
            base.transform_filter(side), text="Words:N", y=up, align=align, dx=dx
        )
    ]
    return finished(alt.layer(kept, ranges, dots, *words), height=280)


LOTS = {"first lot of its ink": ("circle", "#e0e0e0"), "a later lot": ("diamond", "#5a5a5a")}
"""A print by the lot of its ink: shape, word and shade."""


def months_chart(prints: Any, months: Any) -> Any:
    """ΔE00 of prints beyond the median promised, and each month's median with its quartiles."""
    import altair as alt

    up = alt.Y("Farther:Q", title="ΔE00 beyond the one promised", axis=alt.Axis(tickCount=6))
    day = alt.X(
        "Day:T",
        title="Day of the reading",
        axis=alt.Axis(format="%Y-%m", tickCount=5, labelOverlap=True),
    )
    marks = (
        alt.Chart(prints)
        .mark_point(filled=True, size=34, stroke=INK, strokeWidth=0.6, opacity=1)
        .encode(
            x=day,
            y=up,
            **kinds_of_mark("Lot:N", LOTS),
            tooltip=tips("Day:T", "Color:N", "Lot:N", "Farther:Q|.1f"),
        )
    )
    base = alt.Chart(months).encode(x=day)
    bars = base.mark_rule(strokeWidth=3, color=INK).encode(
        y=alt.Y("Low:Q", title="ΔE00 beyond the one promised"), y2=alt.Y2("High:Q")
    )
    line = base.mark_line(strokeWidth=2, color=INK).encode(y=up)
    dots = base.mark_point(filled=True, size=80, color=INK, opacity=1).encode(
        y=up, tooltip=tips("Month:N", "Prints:Q", "Farther:Q|.1f")
    )
    return finished(marks + bars + line + dots, height=280)
