"""Taking a unit in, with its customer, facts and pictures."""
