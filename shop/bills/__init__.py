"""Bills, credit notes and payments: drafted from the job, numbered without gaps, never changed."""
