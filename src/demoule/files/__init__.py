"""Files: desserts, kitchens and order books as people write them, read, checked and rewritten."""

from demoule.files.demonstration import DEMO_FILES, demo, demo_text
from demoule.files.dessert import check_text, desserts_of, read_dessert, read_desserts
from demoule.files.kitchen import kitchen_of, read_kitchen
from demoule.files.orders import orders_of, read_orders

__all__ = [
    "DEMO_FILES",
    "check_text",
    "demo",
    "demo_text",
    "desserts_of",
    "kitchen_of",
    "orders_of",
    "read_dessert",
    "read_desserts",
    "read_kitchen",
    "read_orders",
]
