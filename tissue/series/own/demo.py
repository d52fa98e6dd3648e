"""An invented table of measured eyes for own errors, always the same; neither the clinic nor the eyes exist."""

import numpy as np

from tissue.ground.vocabulary import EYES, Array

HEAD = (
    "patient", "side", "date", "cap_um", "cap_measured_um", "reported_lenticule_um", "lenticule_measured_um",
    "epithelium_um", "epithelium_after_um", "days", "SE_treated_D", "SE_after_D", "central_thickness_um",
    "thickness_second_um",
)  # fmt: skip
PATIENTS, SEED = 38, 2026
SLIP = (16, "OD")  # the eye whose cap is written wrongly


def own_demo() -> str:
    """The text of the table: 76 eyes of 38 invented patients, one of them with a slip of the pen.

    >>> own_demo().splitlines()[0][:24], len(own_demo().splitlines())
    ('patient,side,date,cap_um', 77)
    """
    rng = np.random.default_rng(SEED)
    rows: list[tuple[object, ...]] = [HEAD]
    for patient in range(PATIENTS):
        alike = rng.normal(0.0, 2.5, 3)
        rows += [_eye(rng, patient, side, alike) for side in EYES]
    return "".join(",".join(map(str, row)) + "\n" for row in rows)


def _eye(rng: np.random.Generator, patient: int, side: str, alike: Array) -> tuple[object, ...]:
    """One invented eye."""
    SE, noise = round(float(rng.uniform(-8.0, -1.5)) * 4.0) / 4.0, rng.normal(0.0, (3.0, 5.0, 2.0, 2.5))
    depth = round(15.0 - 15.5 * SE)
    skin, thick = round(float(rng.normal(53.0, 4.6))), round(float(rng.normal(546.0, 30.0)))
    cap = 132.0 + alike[0] + noise[0] + (90.0 if (patient, side) == SLIP else 0.0)
    return (
        f"h{patient + 1:02d}",
        side,
        f"2026-{1 + patient // 4:02d}-{1 + patient % 28:02d}",
        130,
        f"{cap:.1f}",
        depth,
        f"{depth - 9.0 + alike[1] + noise[1]:.1f}",
        skin,
        f"{skin - 0.94 * SE + 0.5 * alike[2] + noise[2]:.1f}",
        90 + patient,
        f"{SE:+.2f}",
        f"{rng.normal(-0.12, 0.35):+.2f}",
        thick,
        f"{thick + noise[3]:.0f}",
    )
