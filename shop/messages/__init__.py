"""Messages to customers: words, when they are due, and the mail queue."""
