"""The pages of the app: they read widgets, call one thing, show it, and compute nothing."""
