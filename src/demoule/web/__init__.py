"""The screens, on a laptop or a tablet beside the bench."""
