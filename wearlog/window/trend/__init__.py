"""How worn is it: the wear trend of one part."""
