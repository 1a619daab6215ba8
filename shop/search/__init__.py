"""Words of jobs, customers and parts; labels that are scanned."""
