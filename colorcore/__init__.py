"""Light into numbers: photos, grey cards, tubes and the color of their liquid."""
