"""The published eyes as a ready series, under the names of the interface."""

from tissue.sources import rows

COLUMNS = ("patient", "side", "refraction", "central_thickness_um", "zone_mm", "flap_measured_um", "cap_um", "outcome")


def published_series():
    """Rows of the published eyes that have a refraction and a thickness: header first, then texts.

    Plus cylinders stay as printed; a flap or a cap is the one that was made.

    >>> head, *eyes = published_series()
    >>> head[2], eyes[0][2]
    ('refraction', '-4.75 -2.00 x 15')
    """
    found = [COLUMNS]
    for row in rows("published_eyes"):
        if not (row["sphere_D"] and row["cct_um"]) or row["eye"] not in ("OD", "OS"):
            continue
        text = f"{float(row['sphere_D']):+.2f}"
        if row["cyl_D"] and float(row["cyl_D"]):
            text += f" {float(row['cyl_D']):+.2f} x {float(row['axis_deg']):.0f}"
        lenticule = row["procedure"].startswith("lenticule")
        cut = row["flap_or_cap_um"]
        found.append(
            (
                row["case_id"],
                row["eye"],
                text,
                row["cct_um"],
                row["zone_mm"],
                "" if lenticule or row["procedure"] == "surface" else cut,
                cut if lenticule else "",
                row["outcome"],
            )
        )
    return found
