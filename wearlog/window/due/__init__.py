"""When is it due: the list of the coming weeks, grouped into visits, with the reason for every line."""
