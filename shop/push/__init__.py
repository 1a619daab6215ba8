"""Messages to browsers of the shop's own people, also while no page is open."""
