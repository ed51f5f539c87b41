"""The torque page: how tight each fastener belongs, and what was applied."""
