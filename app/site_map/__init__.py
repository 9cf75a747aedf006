"""Where sites lie, what lies between them, which way the water goes, and from where acid came."""
