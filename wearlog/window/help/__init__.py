"""Help in place: what a page is for, and how to measure, with drawn steps."""
