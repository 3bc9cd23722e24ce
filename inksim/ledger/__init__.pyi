from .decided import (
    Decided as Decided,
    keep_decision as keep_decision,
    last_decision as last_decision,
)
from .kept_job import (
    PROOFS as PROOFS,
    KeptJob as KeptJob,
    change_job as change_job,
    copy_job as copy_job,
    garments_of as garments_of,
    job_file as job_file,
    kept_at as kept_at,
    kept_key as kept_key,
    kept_keys as kept_keys,
    new_job as new_job,
    open_job as open_job,
    undo_job as undo_job,
)
from .outcomes import (
    Outcome as Outcome,
    outcomes_csv as outcomes_csv,
    proof_of_print as proof_of_print,
)
from .promises import (
    Issued as Issued,
    issue_proof as issue_proof,
    sealed_proofs as sealed_proofs,
)
from .shop_check import check_shop as check_shop
from .track_record import (
    ChanceBin as ChanceBin,
    Distances as Distances,
    InsideShare as InsideShare,
    TrackRecord as TrackRecord,
    record_of_shop as record_of_shop,
)
from .uses import uses_of as uses_of
from .words_of_change import (
    back_words as back_words,
    change_words as change_words,
)
