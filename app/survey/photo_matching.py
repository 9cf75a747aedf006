"""Which photo shows which sample: by the file's name, by the time, by a label that was typed."""

import re
import unicodedata
from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from statistics import fmean

from app.survey.method import Method, Test
from app.survey.sample import Sample
from app.survey.site import Site
from colorcore.errors import SheetError

LONGEST_WAIT = timedelta(minutes=60)
"""After the indicator; where the method does not say, a later photo is of nothing known."""

_PLACES = {"sample": r"(?P<sample>.+?)", "replicate": r"(?P<replicate>[^\W_]+)", "any": ".*?"}


@dataclass(frozen=True, slots=True, kw_only=True)
class PhotoMatch:
    """What a photo shows.

    Parameters
    ----------
    photo : str
        The photo as it was named.
    sample : str or None
        Label of the sample; None where it could not be told.
    replicate : str or None
        The replicate, where the name says it.
    quantity : str or None
        What is tested, where that is known.
    why : str or None
        Why there is no sample.
    """

    photo: str
    sample: str | None
    replicate: str | None = None
    quantity: str | None = None
    why: str | None = None


def _words(text: str) -> str:
    """Reduce a name to words, so that "Plot_7" and "plot 7" are the same."""
    folded = unicodedata.normalize("NFKC", text).casefold()
    return " ".join(re.sub(r"[\W_]+", " ", folded).split())


def _stem(photo: str) -> str:
    name = re.split(r"[/\\]", photo)[-1]
    return name.rpartition(".")[0] or name


def match_by_name(
    photos: Sequence[str], labels: Collection[str], pattern: str | None = None
) -> tuple[PhotoMatch, ...]:
    """Find each photo's sample in its file's name.

    Parameters
    ----------
    photos : sequence of str
        Names or paths.
    labels : collection of str
        Labels of the survey's samples.
    pattern : str, optional
        What names look like without their ending: "{sample}_{replicate}" or "{any}-{sample}".
        Without one, the longest label that stands in the name as whole words is taken.

    Raises
    ------
    SheetError
        If the pattern has no {sample}, or a word in braces that is none of ours.

    Examples
    --------
    >>> match_by_name(["IMG 7 plot-a_2.jpg"], ["Plot A", "Plot"])[0].sample
    'Plot A'
    >>> found = match_by_name(["plot-a_2.jpg"], ["Plot A"], "{sample}_{replicate}")[0]
    >>> found.sample, found.replicate
    ('Plot A', '2')
    """
    by_words = defaultdict(list)
    for label in labels:
        by_words[_words(label)].append(label)
    expression = None if pattern is None else _expression(pattern)
    return tuple(_by_name(photo, by_words, expression) for photo in photos)


def _expression(pattern: str) -> re.Pattern[str]:
    parts = re.split(r"\{(\w*)\}", pattern)
    named = parts[1::2]
    wrong = [word for word in named if word not in _PLACES]
    if wrong or named.count("sample") != 1 or named.count("replicate") > 1:
        raise SheetError(
            f"The pattern '{pattern[:60]}' cannot be used.",
            what_to_do="Write {sample} once where the label stands, {replicate} for the replicate "
            "and {any} for what does not matter, such as {sample}_{replicate}.",
        )
    text = "".join(re.escape(p) if i % 2 == 0 else _PLACES[p] for i, p in enumerate(parts))
    return re.compile(text, re.IGNORECASE)


def _by_name(
    photo: str, by_words: Mapping[str, Sequence[str]], expression: re.Pattern[str] | None
) -> PhotoMatch:
    stem, replicate = _stem(photo), None
    if expression is not None:
        found = expression.fullmatch(stem)
        if found is None:
            return PhotoMatch(photo=photo, sample=None, why="its name does not fit the pattern")
        words = _words(found["sample"])
        replicate = found.groupdict().get("replicate")
        fitting = list(by_words.get(words, ()))
    else:
        name = f" {_words(stem)} "
        here = [words for words in by_words if words and f" {words} " in name]
        longest = max(map(len, here), default=0)
        fitting = [label for words in here if len(words) == longest for label in by_words[words]]
    if len(fitting) == 1:
        return PhotoMatch(photo=photo, sample=fitting[0], replicate=replicate)
    why = f"its name fits {' and '.join(fitting)}" if fitting else "its name holds no known label"
    return PhotoMatch(photo=photo, sample=None, why=why)


def match_by_time(
    photos: Sequence[tuple[str, datetime | None]],
    tests: Sequence[Test],
    methods: Sequence[Method],
) -> tuple[PhotoMatch, ...]:
    """Find each photo's test by the time between indicator and photo.

    A photo belongs to a test when it was taken inside the method's time of color development; where
    the method does not say, within the hour after the indicator. A photo that fits two samples is
    left to the user. A camera without a time zone is taken to show the time of the place where the
    test was noted.

    Parameters
    ----------
    photos : sequence of (str, datetime or None)
        Name, and when it was taken.
    tests : sequence of Test
        The survey's tests; those without the time of the indicator fit nothing.
    methods : sequence of Method
        The survey's methods.
    """
    known = {method.name: method for method in methods}
    spans = [
        (test, *_span(test.indicator_added_at, known.get(test.method or "")))
        for test in tests
        if test.indicator_added_at is not None
    ]
    return tuple(_by_time(photo, taken_at, spans) for photo, taken_at in photos)


def _span(start: datetime, method: Method | None) -> tuple[datetime, datetime]:
    first = 0.0 if method is None else method.color_from_min or 0.0
    last = None if method is None else method.color_to_min
    end = LONGEST_WAIT if last is None else timedelta(minutes=last)
    return start + timedelta(minutes=first), start + end


def _by_time(
    photo: str, taken_at: datetime | None, spans: Iterable[tuple[Test, datetime, datetime]]
) -> PhotoMatch:
    if taken_at is None:
        return PhotoMatch(photo=photo, sample=None, why="its file does not say when it was taken")
    fitting = []
    for test, first, last in spans:
        here = (
            taken_at if taken_at.utcoffset() is not None else taken_at.replace(tzinfo=first.tzinfo)
        )
        if first <= here <= last:
            fitting.append(test)
    labels = sorted({test.sample for test in fitting})
    if len(labels) != 1:
        why = f"its time fits {' and '.join(labels)}" if labels else "no test was ready at its time"
        return PhotoMatch(photo=photo, sample=None, why=why)
    quantities = {test.quantity for test in fitting}
    quantity = quantities.pop() if len(quantities) == 1 else None
    return PhotoMatch(photo=photo, sample=labels[0], quantity=quantity)


def match_by_label(
    photos: Sequence[str], labels: Collection[str], typed: str
) -> tuple[PhotoMatch, ...]:
    """Give all photos the one sample whose label was typed.

    Raises
    ------
    SheetError
        If there is no such sample.
    """
    fitting = [label for label in labels if _words(label) == _words(typed)]
    if typed in labels:
        fitting = [typed]
    if len(fitting) != 1:
        raise SheetError(
            f"The survey has no sample '{typed[:60]}'.",
            what_to_do="Add it with tintwell add, or correct the label.",
        )
    return tuple(PhotoMatch(photo=photo, sample=fitting[0]) for photo in photos)


def sites_by_photos(
    sites: Sequence[Site],
    samples: Sequence[Sample],
    matches: Iterable[PhotoMatch],
    positions: Mapping[str, tuple[float, float]],
) -> tuple[Site, ...]:
    """Give sites without a position the mean position of the photos of their samples.

    Only for photos taken in the field, and only where the user asks for it.

    Parameters
    ----------
    sites, samples
        Of the survey.
    matches : iterable of PhotoMatch
        What each photo shows.
    positions : mapping
        Latitude and longitude in degrees by photo, as the files say.

    Returns
    -------
    tuple of Site
        The sites that have got a position.
    """
    site_of = {sample.label: sample.site for sample in samples}
    found: dict[str, list[tuple[float, float]]] = defaultdict(list)
    for match in matches:
        site = site_of.get(match.sample or "")
        if site is not None and match.photo in positions:
            found[site].append(positions[match.photo])
    return tuple(
        replace(
            site,
            latitude_deg=round(fmean(latitude for latitude, _ in found[site.name]), 6),
            longitude_deg=round(fmean(longitude for _, longitude in found[site.name]), 6),
        )
        for site in sites
        if site.latitude_deg is None and site.name in found
    )
