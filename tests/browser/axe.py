"""What axe-core finds on a page that is serious; Streamlit's own shell included."""

from axe_playwright_python.sync_playwright import Axe

SERIOUS = ("serious", "critical")
WHERE = {"exclude": [[".plot svg"]]}  # one picture, whose words stand in its label: tested with the screens
WHAT = {
    "light": {"resultTypes": ["violations"]},
    "dark": {"resultTypes": ["violations"], "runOnly": {"type": "rule", "values": ["color-contrast"]}},
}


def serious(page, scheme):
    """Rule and first places of every serious violation; in the dark of the contrast alone."""
    violations = Axe().run(page, WHERE, WHAT[scheme]).response["violations"]
    return [
        (one["id"], [node["html"][:160] for node in one["nodes"]][:3]) for one in violations if one["impact"] in SERIOUS
    ]
