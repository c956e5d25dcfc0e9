"""Paper and pictures: the section, curves and lists of a dossier."""

from demoule.sheets.lists import csv_lists
from demoule.sheets.paper import dossier_pages, dossier_pdf
from demoule.sheets.section import ghost_svg, section_svg

__all__ = ["csv_lists", "dossier_pages", "dossier_pdf", "ghost_svg", "section_svg"]
