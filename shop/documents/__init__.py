"""Papers as PDF: traveller, label, estimate, packing list, release record."""
