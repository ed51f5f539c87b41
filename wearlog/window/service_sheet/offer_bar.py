"""Moved to `wearlog.window.offer_bar`."""

from wearlog.window.offer_bar import OfferBar, Sentence, of_doubt, of_problem

__all__ = ["OfferBar", "Sentence", "of_doubt", "of_problem"]
