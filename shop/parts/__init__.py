"""Parts, stock, suppliers and orders, without jobs."""
