"""Drawing what is unknown where the readings are explained, without forgetting how likely it was.

Importance sampling in rounds (population Monte Carlo, Cappe et al. 2004; from memory): each round
draws around the draws of the last one that explained the readings, and weighs every draw by what it
would have been worth had it been drawn blindly.
"""

import numpy as np

from app.site_map.acidity import FloatArray

BLIND = 0.2
"""Share of the draws that take no notice of the last round, so that nothing is overlooked."""
NEAR = 0.5
"""How far the others stray from their parents, as a share of how far the parents stray."""
ALIVE = 40.0
"""Parents that count for something, at the least; weights are flattened until so many do."""


def draw_around(
    parents: FloatArray, log_weights: FloatArray, draws: int, generator: np.random.Generator
) -> tuple[FloatArray, FloatArray]:
    """Draw anew around the draws that explain the readings.

    Parameters
    ----------
    parents : array, shape (parents, n)
        Draws of the last round, in coordinates that are standard normal before any reading.
    log_weights : array, shape (parents,)
        How much each of them counts.
    draws : int
        How many are wanted.
    generator : numpy.random.Generator
        Where chance comes from.

    Returns
    -------
    tuple of array, shapes (draws, n) and (draws,)
        The draws, and the logarithm of their density before any reading over the one that they
        were drawn from.
    """
    count = parents.shape[1]
    chance = flattened(log_weights)
    center = chance @ parents
    off = parents - center
    bell = NEAR**2 * ((chance[:, None] * off).T @ off + 0.02 * np.eye(count))
    root = np.linalg.cholesky(bell)
    chosen = parents[generator.choice(len(parents), draws, p=chance)]
    drawn = chosen + generator.normal(size=(draws, count)) @ root.T
    blind = generator.random(draws) < BLIND
    drawn[blind] = generator.normal(size=(int(blind.sum()), count))
    unit = np.linalg.inv(root).T
    here, there = drawn @ unit, parents @ unit
    apart = (here**2).sum(axis=1)[:, None] + (there**2).sum(axis=1) - 2 * here @ there.T
    bells = np.exp(-0.5 * np.maximum(apart, 0)) @ chance / np.prod(np.diag(root))
    before = np.exp(-0.5 * (drawn**2).sum(axis=1))
    return drawn, np.asarray(np.log(before / (BLIND * before + (1 - BLIND) * bells)))


def flattened(log_weights: FloatArray) -> FloatArray:
    """Return weights that sum to 1, raised to the largest power up to 1 that keeps enough alive.

    Examples
    --------
    >>> one_rules = np.array([20.0] + [0.0] * 99)
    >>> flat = flattened(one_rules)
    >>> round(effective(flat)), bool(flat[0] > flat[1])
    (40, True)
    """
    low, high = 0.0, 1.0
    if effective(_weights(log_weights)) >= ALIVE:
        return _weights(log_weights)
    for _ in range(20):
        middle = (low + high) / 2
        if effective(_weights(middle * log_weights)) >= min(ALIVE, 0.999 * len(log_weights)):
            low = middle
        else:
            high = middle
    return _weights(low * log_weights)


def effective(weights: FloatArray) -> float:
    """Return how many draws of equal weight are worth as much as these (Kish 1965)."""
    return float(weights.sum() ** 2 / (weights**2).sum())


def _weights(log_weights: FloatArray) -> FloatArray:
    weights = np.exp(log_weights - log_weights.max())
    return np.asarray(weights / weights.sum())
