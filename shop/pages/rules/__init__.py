"""Pages of the rules in force, of the shop's own rules, and of what a change would do."""
