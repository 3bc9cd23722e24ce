from .kept_job import (
    KeptJob as KeptJob,
    change_job as change_job,
    copy_job as copy_job,
    garments_of as garments_of,
    kept_keys as kept_keys,
    new_job as new_job,
    open_job as open_job,
    undo_job as undo_job,
)
