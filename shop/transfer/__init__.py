"""Everything out and in, and jobs from a spreadsheet."""
