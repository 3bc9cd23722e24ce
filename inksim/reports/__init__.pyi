from .calibration_report import (
    calibration_document as calibration_document,
    calibration_text as calibration_text,
    history_text as history_text,
    versions_text as versions_text,
)
from .cautions import POLYESTER as POLYESTER, cautions_for as cautions_for
from .correction_report import (
    correction_document as correction_document,
    correction_text as correction_text,
)
from .job_chart import chart as chart, cost_axis as cost_axis, spread as spread
from .job_report import (
    bill_words as bill_words,
    headline as headline,
    in_a_sentence as in_a_sentence,
    in_a_word as in_a_word,
    job_document as job_document,
    job_text as job_text,
    outcome as outcome,
    takes_lines as takes_lines,
)
from .json_documents import document as document, emit_json as emit_json
from .kept_job_report import (
    job_shown_document as job_shown_document,
    job_shown_text as job_shown_text,
    jobs_text as jobs_text,
    keep_decided as keep_decided,
    kept_document as kept_document,
    order_document as order_document,
    order_text as order_text,
)
from .licenses import licenses_text as licenses_text
from .palette_files import (
    matrix_csv as matrix_csv,
    matrix_picture as matrix_picture,
    matrix_words as matrix_words,
)
from .palette_report import (
    BY_ITSELF as BY_ITSELF,
    best_first as best_first,
    palette_document as palette_document,
    palette_headline as palette_headline,
    palette_text as palette_text,
)
from .palette_sheet import (
    PaletteSheet as PaletteSheet,
    palette_pdf as palette_pdf,
)
from .pdf import not_spelled as not_spelled
from .photo_report import (
    READING_HEAD as READING_HEAD,
    WHAT_SD_MEANS as WHAT_SD_MEANS,
    photo_csv as photo_csv,
    photo_document as photo_document,
    photo_text as photo_text,
    reading_cells as reading_cells,
)
from .picture_ticket import make_picture_ticket as make_picture_ticket
from .press_words import lies_words as lies_words, screen_lines as screen_lines
from .preview_report import (
    demo_document as demo_document,
    demo_text as demo_text,
    preview_document as preview_document,
    preview_text as preview_text,
)
from .proof import (
    Proof as Proof,
    TonalProof as TonalProof,
    no_picture_proof as no_picture_proof,
    no_proof as no_proof,
    proof_picture as proof_picture,
)
from .proof_issue import (
    issued_together as issued_together,
    proof_file as proof_file,
    proof_of_ticket as proof_of_ticket,
)
from .proof_made import (
    ProofAsked as ProofAsked,
    ProofMade as ProofMade,
    flat_proof as flat_proof,
    picture_proof as picture_proof,
)
from .proof_parts import BaseProof as BaseProof, said_of as said_of
from .proof_sheet import proof_pdf as proof_pdf
from .recipe_card import RecipeCard as RecipeCard, card_text as card_text
from .recipe_sheet import card_pdf as card_pdf
from .recipes_report import (
    instead_words as instead_words,
    recipes_document as recipes_document,
    recipes_text as recipes_text,
)
from .record_chart import draw_record as draw_record, later_lots as later_lots
from .record_report import (
    CHANCE_HEAD as CHANCE_HEAD,
    INVENTED_RECORD as INVENTED_RECORD,
    chance_rows as chance_rows,
    distance_tables as distance_tables,
    inside_words as inside_words,
    record_headline as record_headline,
    record_text as record_text,
)
from .separation_report import (
    PLATE_HEAD as PLATE_HEAD,
    plate_rows as plate_rows,
    separation_lines as separation_lines,
)
from .text import (
    advice_text as advice_text,
    catalogue_text as catalogue_text,
    drawdowns_text as drawdowns_text,
    hiding_text as hiding_text,
    lights_text as lights_text,
    look_text as look_text,
    predictions_document as predictions_document,
    predictions_text as predictions_text,
    table as table,
)
from .ticket import BaseTicket as BaseTicket, Ticket as Ticket, make_ticket as make_ticket
from .ticket_picture import with_artwork as with_artwork
from .ticket_sheet import ticket_pdf as ticket_pdf
from .ticket_words import readings_table as readings_table, ticket_text as ticket_text
