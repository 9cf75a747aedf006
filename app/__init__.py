"""The field work: what a user does, from the terminal and from the window."""
