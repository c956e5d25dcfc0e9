"""cold."""
