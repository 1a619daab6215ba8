"""Export and import of the whole shop, and jobs from a spreadsheet."""
