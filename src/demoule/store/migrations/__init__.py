"""The forms that the database has had, and the steps from each to the next."""

REVISIONS = ("0001", "0002")
"""Every form, oldest first; the last one is what this release reads and writes."""

HEAD = REVISIONS[-1]
