"""A year of the sample fleet's workshop under one policy of planning, counted from the true wear."""
