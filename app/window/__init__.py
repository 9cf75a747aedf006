"""The window: thin widgets over the desk; the only room that knows Qt."""

from app.window.immortal import make_immortal

make_immortal()
