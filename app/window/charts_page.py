"""The Charts page."""

from app.window.page import Page


class ChartsPage(Page):
    """Charts."""

    name = "Charts"
    symbol_name = "charts"
