"""Papers as PDF: traveller, label, receipt, estimate, packing list, release record."""
