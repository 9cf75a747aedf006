"""What can go wrong when a user's order is carried out."""

from colorcore.errors import TintwellError


class OrderError(TintwellError):
    """What was asked for cannot be done as it was asked."""
