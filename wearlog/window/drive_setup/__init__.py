"""The drive set-up page: a stage to scale, a plan for it, and what the plan would change."""
