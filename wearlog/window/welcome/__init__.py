"""Where to begin: add a vehicle, bring in what a spreadsheet knows, look at the sample fleet."""
