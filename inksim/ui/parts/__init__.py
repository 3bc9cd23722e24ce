"""Parts that pages share, some with a script of their own."""
