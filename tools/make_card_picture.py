"""Make docs/recipe_card.png: the card of the coral of docs/mixing.md, as it leaves a printer.

Run from the repository: ``python -m tools.make_card_picture``.
"""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pypdfium2

from inksim import Viewing, find_recipes, load_shop
from inksim.reports import RecipeCard, card_pdf

TOP = Path(__file__).parent.parent
DAY = date(2026, 3, 2)


def main() -> None:
    """Draw and save it."""
    shop = load_shop()
    found = find_recipes(
        shop, target=shop.target("#d9664f"), garment=shop.garment("Coal Black"),
        routes=["white-base"], grams=600,
    )  # fmt: skip
    card = RecipeCard(found=found[0], shop=shop, viewing=Viewing(), tolerance=3.0, made=DAY)
    page = pypdfium2.PdfDocument(card_pdf(card))[0].render(scale=1.2).to_pil()
    page.convert("RGB").quantize(64).save(TOP / "docs" / "recipe_card.png", optimize=True)


if __name__ == "__main__":
    main()
