"""The published eyes by their id, and what their own printed numbers give."""

from tissue.ground.sources import rows

EYES = {row["case_id"]: row for row in rows("published_eyes")}


def numbers(case_id, *names):
    return [float(EYES[case_id][name]) for name in names]


def bed(case_id):
    thickness, cut, depth = numbers(case_id, "cct_um", "flap_or_cap_um", "depth_um")
    return thickness - cut - depth


def altered(case_id):
    thickness, cut, depth = numbers(case_id, "cct_um", "flap_or_cap_um", "depth_um")
    return 100 * (cut + depth) / thickness


def removed(case_id):
    thickness, depth = numbers(case_id, "cct_um", "depth_um")
    return 100 * depth / thickness
