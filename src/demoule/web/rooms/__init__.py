"""The rooms of the screens: one module each, a router and nothing computed."""
