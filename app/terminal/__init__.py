"""The terminal's commands one by one: orders in, sentences out."""
