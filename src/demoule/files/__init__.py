"""Files: desserts, kitchens and order books as people write them, read, checked and rewritten."""

from demoule.files.demonstration import DEMO_FILES, demo, demo_text
from demoule.files.dessert import check_text, desserts_of, read_dessert, read_desserts
from demoule.files.editing import REMOVED, edited, located, renamed
from demoule.files.kitchen import kitchen_of, read_kitchen
from demoule.files.notes import notes
from demoule.files.orders import orders_of, read_orders
from demoule.files.recognising import described
from demoule.files.schema import schemas
from demoule.files.writing import dump
from demoule.files.written import as_data, written

__all__ = [
    "DEMO_FILES",
    "REMOVED",
    "as_data",
    "check_text",
    "demo",
    "demo_text",
    "described",
    "desserts_of",
    "dump",
    "edited",
    "kitchen_of",
    "located",
    "notes",
    "orders_of",
    "read_dessert",
    "read_desserts",
    "read_kitchen",
    "read_orders",
    "renamed",
    "schemas",
    "written",
]
