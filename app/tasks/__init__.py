"""What a user does, as plain functions that the terminal and the window share."""
