"""Who signs in, with which role, and what a role may do; first-visit words."""
