"""`tintwell chart` and `tintwell buffer`."""

import argparse
from pathlib import Path

from app.errors import OrderError
from app.terminal.say import say
from app.terminal.words import DONE
from calibration.chart import Chart
from calibration.chart_file import load_chart
from calibration.checks import coarse_gaps, leave_one_out, valid_span, weakest_neighbors
from calibration.recipes import IONIC_STRENGTH_WARNING, propose_standards
from calibration.standards import certified_value, list_buffers

CHEMISTRY = (
    "Make standards and samples in the same 0.01 M calcium chloride and at the same warmth: "
    "salt shifts many dyes by 0.15 to 0.3 pH, 10 degrees by 0.04 to 0.08.",
    "Wear goggles and gloves with buffers and indicators; they stain and may irritate.",
)


def describe(chart: Chart) -> str:
    """Say what a chart is and how good it is."""
    analyte = chart.analyte
    facts = (analyte.quantity, analyte.form, analyte.unit, analyte.basis, analyte.ratio)
    lines = [
        f"Chart '{chart.name}' ({chart.id[:8]}): " + ", ".join(f for f in facts if f is not None),
        f"  {len(chart.swatches)} swatches from {len(chart.measurements)} tubes, "
        f"card reflectance {', '.join(f'{r:g}' for r in sorted(set(chart.card_reflectance)))}, "
        f"white {chart.white}, made {chart.created_at:%Y-%m-%d}",
        "  value        L*     a*     b*    tubes",
    ]
    for swatch in chart.swatches:
        name = swatch.label if swatch.value is None else f"{swatch.value:g}"
        lab = "".join(f"{v:7.1f}" for v in swatch.lab)
        lines.append(f"  {name or '':8} {lab}    {swatch.n}")
    span = valid_span(chart)
    if span is not None:
        lines.append(f"  span {span[0]:g} to {span[1]:g}")
    tested = leave_one_out(chart)
    if tested.root_mean_square is not None:
        lines.append(
            f"  leave-one-out error {tested.root_mean_square:.2g} over {len(tested.swatches)} "
            "inner swatches (the two ends cannot be tested this way)"
        )
    pair = weakest_neighbors(chart)
    names = [s.label if s.value is None else f"{s.value:g}" for s in (pair.first, pair.second)]
    lines.append(
        f"  weakest neighbours {names[0]} and {names[1]}: {pair.color_difference:.1f} CIEDE2000"
    )
    lines.extend(_coarse(chart))
    lines.extend(f"  {text}" for text in CHEMISTRY if analyte.is_ph)
    return "\n".join(lines)


def _coarse(chart: Chart) -> list[str]:
    gaps = coarse_gaps(chart)
    if not gaps:
        return []
    said = ", ".join(f"{gap.low:g} to {gap.high:g}" for gap in gaps)
    lines = [f"  coarse: readings between swatches far apart will be doubtful ({said})."]
    if chart.analyte.is_ph:
        values = [s.value for s in chart.swatches if s.value is not None]
        proposals = propose_standards(values)
        if proposals:
            lines.append("  Add these standards, mixed from two stock solutions:")
            lines.extend(f"    {proposal.text}" for proposal in proposals)
            lines.append(f"    {IONIC_STRENGTH_WARNING}")
    else:
        lines.append("  Add standards between them.")
    return lines


def show_chart(order: argparse.Namespace) -> int:
    """Print the quality of a chart, and draw it where asked."""
    chart = load_chart(Path(order.chart))
    say(describe(chart))
    if order.plot is not None:
        from app.exports.chart_plot import plot_chart

        plot_chart(chart, Path(order.plot))
        say(f"Drawn as {order.plot}.")
    return DONE


def show_buffer(order: argparse.Namespace) -> int:
    """Print the pH of a buffer, or the list of buffers."""
    if order.all:
        for buffer in list_buffers():
            say(f"{buffer.name:22} {buffer.title} ({', '.join(buffer.aliases)})")
        return DONE
    if order.name is None or order.temperature is None:
        raise OrderError(
            "A buffer's name and temperature are needed.",
            what_to_do="Try: tintwell buffer borax --temperature 22; --list shows the names.",
        )
    found = certified_value(order.name, order.temperature)
    say(
        f"{found.buffer} at {found.temperature_c:g} °C: "
        f"pH {found.value:.3f} ± {found.uncertainty:.3f} (standard uncertainty)\n"
        f"  {found.source}\n  The label of the bottle in hand wins."
    )
    return DONE
