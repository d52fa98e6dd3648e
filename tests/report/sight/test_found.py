"""What published series found: the words beside each figure hold for what is worked out."""

from tissue.report.sight.found import added_c40_um, epithelium_um, found_rows

SMOOTH_MM = 0.42


def test_words_about_the_added_spherical_aberration_hold():
    """Source: J Refract Surg 2019;35:230: extraction 0.08, flap 0.17 µm, both added. Sign with smoothing, not without;
    the order the other way round. When one of these changes, the words of data/sight_found.toml must."""
    smooth = {name: added_c40_um(name, SMOOTH_MM) for name in ("flap", "lenticule")}
    sharp = {name: added_c40_um(name, 0.0) for name in ("flap", "lenticule")}
    assert min(smooth.values()) > 0.0 > max(sharp.values())
    assert smooth["lenticule"] > smooth["flap"]
    rows = {one.what: one for one in found_rows()}
    said = next(one for what, one in rows.items() if "extraction" in what and "added" in what)
    assert said.ours.startswith(f"+{smooth['lenticule']:.2f} µm smoothed") and "other way round" in said.beside


def test_words_about_the_epithelium_hold():
    """Source: −7.9 ± 2.9 µm after +2.64 D: the sign agrees, the size does not."""
    assert -7.9 + 2.9 < epithelium_um("surface", 2.64) < 0.0


def test_what_was_not_read_is_not_said_to_be_printed():
    assert all(one.status != "P" for one in found_rows() if "second hand" in one.citation)
