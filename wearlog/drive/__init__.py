"""How a chain or belt drive behaves: geometry, slack, tension, limits."""
