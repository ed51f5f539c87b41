"""The words of the trade as frozen records; standard library only."""
