"""Advice on the samples of a survey as JSON, for programs."""

import json
from dataclasses import fields

from app.soil.crops import Crop
from app.soil.fertiliser import Need
from app.soil.shopping import ShoppingLine, ShoppingList
from app.soil.soil_reading import Plot
from app.soil.spread import Share
from app.soil.statement import Advice, CalculationStep
from app.soil.table_reader import Citation
from app.soil.units import Amount
from app.survey.sample_advice import SampleAdvice, SurveyAdvice, TestedQuantity

DIGITS = 6
"""Of every computed number: far more than it deserves, fewer than the computer's own noise."""


def advice_json(advice: SurveyAdvice) -> str:
    """Write all advice as one JSON document; what is unknown is null.

    Amounts are in SI units, with their US counterparts where there are any. Cautions are named by
    their codes where they belong; their texts stand once, at the end.
    """
    document = {
        "survey": {"id": advice.survey_id, "name": advice.survey_name},
        "crops": [_crop(crop) for crop in advice.crops],
        "region": advice.region,
        "samples": [_sample(item) for item in advice.samples],
        "left_out": [{"sample": label, "why": why} for label, why in advice.left_out],
        "shopping": None if advice.shopping is None else _shopping(advice.shopping),
        "cautions": {caution.code: caution.text for caution, _ in advice.cautions},
    }
    return json.dumps(document, ensure_ascii=False, allow_nan=False, indent=2)


def _crop(crop: Crop) -> dict[str, object]:
    return {
        "name": crop.name,
        "ph_from": crop.ph_from,
        "ph_to": crop.ph_to,
        "source": _citation(crop.citation),
    }


def _shopping(shopping: ShoppingList) -> dict[str, object]:
    return {
        "lines": [_shopping_line(line) for line in shopping.lines],
        "cost": None if shopping.cost is None else _amount(shopping.cost),
        "least": shopping.aim,
        "repeat_first": list(shopping.wait),
        "without_area": list(shopping.without_area),
        "problem": shopping.problem,
    }


def _shopping_line(line: ShoppingLine) -> dict[str, object]:
    return {
        "kind": line.kind,
        "name": line.name,
        "mass": _amount(line.mass),
        "bags": None if line.bags is None else _amount(line.bags),
        "cost": None if line.cost is None else _amount(line.cost),
    }


def _sample(item: SampleAdvice) -> dict[str, object]:
    found = item.interpretation
    return {
        "sample": item.sample.label,
        "site": None if item.site is None else item.site.name,
        "plot": _plot(item.plot),
        "crop": item.crop.name,
        "tested": [_tested(tested) for tested in item.tested],
        "notes": list(item.notes),
        "advice": [_advice(advice) for advice in found.advice],
        "crops": [
            {
                "name": fit.crop.name,
                "below": _rounded(fit.below),
                "inside": _rounded(fit.inside),
                "above": _rounded(fit.above),
                "wants": fit.wants,
            }
            for fit in found.fits
        ],
        "need": None if found.need is None else _need(found.need),
        "lime": None if found.lime is None else _amount(found.lime),
        "sulphur": None if found.sulphur is None else _amount(found.sulphur),
        "cautions": [caution.code for caution in found.cautions],
    }


def _tested(tested: TestedQuantity) -> dict[str, object]:
    reading = tested.reading
    return {
        "quantity": reading.quantity,
        "unit": reading.unit,
        "value": _rounded(reading.value),
        "low": _rounded(reading.low),
        "high": _rounded(reading.high),
        "form": reading.form,
        "basis": reading.basis,
        "ratio": reading.ratio,
        "extractant": reading.extractant,
        "medium": reading.medium,
        "source": reading.source,
        "method": reading.method,
        "doubtful": reading.doubtful,
        "readings": list(tested.numbers),
        "outlier": tested.outlier,
        "beyond": tested.beyond,
        "refused": tested.refused,
        "blank": _rounded(tested.blank),
    }


def _advice(advice: Advice) -> dict[str, object]:
    return {
        "topic": advice.topic,
        "subject": advice.subject or None,
        "code": advice.code,
        "statement": advice.statement,
        "amounts": [_amount(amount) for amount in advice.amounts],
        "shares": [_share(share) for share in advice.shares],
        "sources": [_citation(citation) for citation in advice.citations],
        "what_to_do": advice.what_to_do,
        "repeat_first": advice.repeat_first,
        "cautions": [caution.code for caution in advice.cautions],
        "steps": [_step(step) for step in advice.steps],
    }


def _step(step: CalculationStep) -> dict[str, object]:
    return {
        "text": step.text,
        "result": None if step.result is None else _amount(step.result),
        "source": None if step.citation is None else _citation(step.citation),
    }


def _amount(amount: Amount) -> dict[str, object]:
    here, there = amount.in_system("si"), amount.in_system("us")
    us = None if there.unit == here.unit else _figures(there)
    return {"name": amount.name, **_figures(here), "us": us}


def _figures(amount: Amount) -> dict[str, object]:
    return {
        "unit": amount.unit,
        "best": _rounded(amount.best),
        "low": _rounded(amount.low),
        "high": _rounded(amount.high),
    }


def _share(share: Share) -> dict[str, object]:
    return {"label": share.label, "probability": _rounded(share.probability)}


def _citation(citation: Citation) -> dict[str, object]:
    return {"source": citation.source, "region": citation.region, "year": citation.year}


def _plot(plot: Plot) -> dict[str, object]:
    cells = {field.name: getattr(plot, field.name) for field in fields(plot)}
    return {n: _rounded(c) if isinstance(c, float) else c for n, c in cells.items()}


def _need(need: Need) -> dict[str, object]:
    return {
        "area_m2": _rounded(need.area_m2),
        "n_kg_per_ha": _rounded(need.n),
        "p2o5_kg_per_ha": _rounded(need.p2o5),
        "k2o_kg_per_ha": _rounded(need.k2o),
        "without": list(need.without),
    }


def _rounded(number: float | None) -> float | None:
    return None if number is None else float(f"{number:.{DIGITS}g}")
