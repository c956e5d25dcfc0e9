"""formula."""
