"""The service worker, and the page of what a browser keeps without a connection."""
