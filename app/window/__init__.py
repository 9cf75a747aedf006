"""The window: thin widgets over the desk; the only room that knows Qt."""
