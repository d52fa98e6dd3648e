"""Every screen but Plan, by its name in the navigation, with words that stand on it once it is there."""

SCREENS = {
    "Trade-offs": "What would give",
    "Alignment": "What the offset costs",
    "Suction loss": "Stopping here and planning again another day remains an option.",
    "Follow-up": "What was measured",
    "Enhancement": "Type what is left",
    "Mechanics": "Ratios to the intact eye",
    "Series": "What was understood",
    "Rounds": "A new round",
    "Evidence": "what every figure, default and line rests on",
}
