"""Prepares what the cold stage needs before a first use, so that no chef's first click waits for it."""

if __name__ == "__main__":
    pass
