"""The quality control of a survey as blocks of rows: a title, headings, then cells."""

from collections.abc import Sequence

from app.exports.reading_columns import Cell
from app.survey.class_view import ClassView
from app.survey.control_chart import RULES
from app.survey.quality import Control, Quality

Block = Sequence[Sequence[Cell]]


def quality_blocks(quality: Quality) -> tuple[Block, ...]:
    """Replicates, check standards, people, other instruments; each block may be empty."""
    return (
        _replicates(quality),
        _check_standards(quality),
        _check_results(quality),
        _people(quality),
        _other_instruments(quality),
    )


def _replicates(quality: Quality) -> Block:
    head = ("sample", "quantity", "form", "basis", "unit", "n", "mean", "mean_is", "median", "s")
    more = ("scatter_low_90", "scatter_high_90", "mean_half_width_of_one_90", "low_90", "high_90")
    return (
        (
            "Replicates: mean of n readings; its interval from their scatter alone, and with what "
            "they share (chart, light); outliers by Grubbs' test at 5 %, shown and counted in",
        ),
        (*head, *more, "outlier_reading", "blank", "mean_less_blank"),
        *(
            (
                *(item.sample, item.quantity, item.form, item.basis, item.unit, item.pooled.n),
                _short(item.pooled.mean),
                item.pooled.how,
                *map(_short, (item.pooled.median, item.pooled.s)),
                *map(_short, (item.pooled.low, item.pooled.high, item.half_width)),
                *map(_short, (item.low, item.high)),
                item.outlier,
                *map(_short, (item.blank, item.less_blank)),
            )
            for item in quality.pooled
        ),
    )


def _check_standards(quality: Quality) -> Block:
    head = ("sample", "quantity", "unit", "n", "certified", "center", "s", "warning_low")
    more = ("warning_high", "action_low", "action_high", "signals", "drift_per_30_days")
    return (
        ("Check standards: center ± 2 s is the warning limit, ± 3 s the action limit",),
        (*head, *more, "drift_low_90", "drift_high_90"),
        *(_check_standard(control) for control in quality.controls),
    )


def _check_standard(control: Control) -> Sequence[Cell]:
    limits, drift = control.limits, control.drift
    return (
        *(control.sample, control.quantity, control.unit, len(control.results)),
        control.certified,
        None if limits is None else _short(limits.center),
        None if limits is None else _short(limits.s),
        *map(_short, (None, None) if limits is None else limits.warning),
        *map(_short, (None, None) if limits is None else limits.action),
        "too few readings" if limits is None else len(control.signals),
        None if drift is None else _short(drift.per_30_days),
        None if drift is None else _short(drift.low),
        None if drift is None else _short(drift.high),
    )


def _check_results(quality: Quality) -> Block:
    rows: list[Sequence[Cell]] = []
    for control in quality.controls:
        broken = {signal.index: signal for signal in control.signals}
        for index, result in enumerate(control.results):
            signal = broken.get(index)
            rows.append(
                (
                    *(control.sample, control.quantity, control.unit, result.reading),
                    _short(result.value),
                    None if signal is None else "action" if signal.is_action else "warning",
                    None if signal is None else RULES[signal.rule],
                )
            )
    return (
        ("Check standards, reading by reading",),
        ("sample", "quantity", "unit", "reading", "value", "signal", "meaning"),
        *rows,
    )


def _people(quality: Quality) -> Block:
    head = ("sample", "quantity", "unit", "people", "n", "mean", "s_repeatability", "s_between")
    more = ("s_reproducibility", "repeatability_limit", "reproducibility_limit", "stands_apart")
    return (
        ("People who measured the same sample (terms of ISO 5725-2)",),
        (*head, *more),
        *(
            (
                *(spread.sample, spread.quantity, spread.unit),
                len(spread.precision.groups),
                spread.precision.n,
                _short(spread.precision.mean),
                _short(spread.precision.s_repeatability),
                _short(spread.precision.s_between),
                _short(spread.precision.s_reproducibility),
                _short(spread.precision.repeatability_limit),
                _short(spread.precision.reproducibility_limit),
                ", ".join(spread.precision.exceptional) or None,
            )
            for spread in quality.spreads
        ),
    )


def _other_instruments(quality: Quality) -> Block:
    head = ("quantity", "unit", "compared_with", "samples", "bias", "bias_low_95", "bias_high_95")
    return (
        ("Agreement with other instruments: reading less reference (Bland and Altman 1986)",),
        (*head, "s", "limit_low_95", "limit_high_95"),
        *(
            (
                *(item.quantity, item.unit, item.source, item.agreement.n),
                _short(item.agreement.bias),
                _short(item.agreement.bias_low),
                _short(item.agreement.bias_high),
                _short(item.agreement.s),
                *map(_short, item.agreement.limits),
            )
            for item in quality.comparisons
        ),
    )


def group_blocks(view: ClassView) -> tuple[Block, ...]:
    """Lay out groups on each sample that they share, and each group over all of them."""
    head = ("sample", "quantity", "unit", "group", "n", "mean", "mean_of_groups", "s_of_groups")
    more = ("mandel_h", "stands_apart", "reference", "reference_from", "mean_less_reference")
    overall = ("group", "quantity", "unit", "shared_samples", "mean_less_all_groups")
    agreed = ("references", "bias", "limit_low_95", "limit_high_95", "stands_apart_on")
    return (
        (
            ("Groups that measured the same samples; four or more are needed to stand apart",),
            (*head, *more),
            *(
                (
                    *(sample.sample, sample.quantity, sample.unit, item.group, item.n),
                    *map(_short, (item.mean, sample.mean, sample.s, item.h)),
                    item.stands_apart,
                    None if sample.reference is None else sample.reference.value,
                    None if sample.reference is None else sample.reference.source,
                    _short(item.from_reference),
                )
                for sample in view.samples
                for item in sample.groups
            ),
        ),
        (
            ("Each group over all samples that it shares with others",),
            (*overall, *agreed),
            *(
                (
                    *(group.group, group.quantity, group.unit, group.samples),
                    _short(group.from_others),
                    group.references,
                    _short(group.bias),
                    *map(_short, (None, None) if not group.agreement else group.agreement.limits),
                    ", ".join(group.apart_on) or None,
                )
                for group in view.groups
            ),
        ),
    )


def _short(value: float | None) -> float | None:
    return None if value is None else round(value, 4)
