"""What must be ordered: the shelf, the demand ahead, orders, and when to replace."""
