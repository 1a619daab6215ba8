"""What happens to jobs, told to programs of the shop's own at addresses it chose."""
