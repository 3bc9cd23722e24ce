"""A shop's folder of text files: read, checked, listed and changed.

`load_shop` gives the `Shop` or all of its faults at once; `edit` saves whole files with undo;
`usual_builds` has the usual build of each route."""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)
