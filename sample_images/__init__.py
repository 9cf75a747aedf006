"""Photos of an invented survey, with their true values in answers.csv."""
