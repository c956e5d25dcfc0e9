"""demoule: one description of a moulded frozen dessert, every answer that follows from it."""

__version__ = "0.1.0"
