"""Pages that compose several rooms: home, the job, the page of the customer."""
