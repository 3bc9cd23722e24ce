"""Files of buckets to attack, a recipe's and a corrected one's, and what is done with one."""

from __future__ import annotations

import json
from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path

import numpy as np

from inksim.colour import Viewing
from inksim.mixing import (
    asked_document,
    bucket_document,
    correct,
    read_bucket,
)
from inksim.mixing.bucket import BucketReading, bucket_of
from inksim.printing import predict_nominal
from inksim.shop import Shop, usual_build
from inksim.stock import target_from_lab


def sound(shop: Shop) -> Sequence[bytes]:
    """A recipe's file, and that of a bucket once corrected."""
    build = usual_build(
        shop, garment=shop.garment("Flour White"), ink=shop.ink("Kiln Red"), route="straight"
    )
    (printed,) = predict_nominal([build], press=shop.press.values, viewing=Viewing())
    target = target_from_lab(printed.lab, name="any")
    grams = {"Kiln Red": 400.0, "Weir Teal": 3.0}
    bucket = bucket_of(grams, inks=shop.inks, build=build, target=target)
    read = bucket.with_reading(BucketReading(after=1, lab=printed.lab))
    read = read.with_reading(BucketReading(after=1, reflectance=printed.reflectance))
    more = replace(read, batches=np.concatenate([read.batches, [[20.0, 0.0]]]))
    common = {
        "asked": asked_document(target, "Flour White"),
        "conditions": {"light": "D50", "observer": 2},
    }
    recipe = {
        "parts": [{"ink": name, "share": 0.5, "grams": g} for name, g in grams.items()],
        "route": "straight", "screen": build.colour.screen.name, "passes": 1, "base": None,
    }  # fmt: skip
    return [
        json.dumps({**common, "recipes": [recipe, recipe]}).encode(),
        json.dumps({**common, "bucket": bucket_document(more)}).encode(),
    ]


def reader(shop: Shop) -> Callable[[Path], None]:
    """Reads a bucket and corrects it."""

    def read(path: Path) -> None:
        bucket, viewing = read_bucket(path, shop)
        if bucket.readings:
            correct(bucket, shop, viewing=viewing)
        json.dumps(bucket_document(bucket), allow_nan=False)

    return read
