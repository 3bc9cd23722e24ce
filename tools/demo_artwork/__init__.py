"""The pieces of tools/make_demo_artwork.py: curves, canvases, lettering and two pictures."""
