"""Many jobs at once: read from a folder or a table, run on any executor, recorded in a manifest.

Of each job it asks what all other doors ask, `job.decide_job` and the rooms that draw and sign. It
adds only what many need: keys by content, claims, failures that stop nothing, and one report.
"""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)
