"""The Photos page."""

from app.window.page import Page


class PhotosPage(Page):
    """Photos."""

    name = "Photos"
    symbol_name = "photos"
