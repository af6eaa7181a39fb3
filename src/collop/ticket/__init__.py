"""Tickets: bar codes, what must stand on a label, and drawing it in whole printer dots."""
