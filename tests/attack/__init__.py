"""Attacks on every reader and file of inksim: seeded, each case in a forked child with limits.

``python -m tests.attack [--cases N] [--seed S]``. A case is good when it ends in a result or in an
`InputError` that a person can read: no other exception, no warning, no more time or memory than
its kind may take, no control character, no path of a temporary file and no word of Python's in a
message. What is attacked:

- `readers`: each kind of file that inksim reads, spoiled by `mutators`; a new reader is a row of
  its table, and `test_attack` fails until it has one;
- `commands`: the command line with hostile words;
- `extremes`: shops and jobs of extreme but legal numbers;
- `kills`: a program killed while it writes, and several that write at once.
"""

import os

# Before numpy is loaded: threads of its own do not come along into a forked child.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
