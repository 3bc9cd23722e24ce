"""A job decided and ticketed: which route on which garment, and the ticket for the press.

The job, its colors and the shop are INVENTED; see shared/jobs/choir.toml.
"""

from datetime import date

import inksim
from inksim.reports import ticket_text

shop = inksim.load_shop()
job = inksim.load_job(shop.folder / "jobs" / "choir.toml", shop=shop)
answer = inksim.decide_job(job, shop=shop)
for each in answer.garments:
    if each.best is None:
        print(f"{each.garment.name}: cannot be printed, {each.barrier}")
        continue
    best = each.best
    print(f"{each.garment.name}: {best.verdict.short}; weakest {best.weakest.colour.name}")
    for plan in best.plans:
        print(f"  {plan.colour.name}: {plan.prediction.words}")

ticket = inksim.make_ticket(
    answer, shop=shop, garment=shop.garment("Mist Gray"), made=date(2026, 3, 2)
)
print()
print(ticket_text(ticket))
