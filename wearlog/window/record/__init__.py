"""The fleet record: what forecasts were worth, how fast parts wear, how long they last."""
