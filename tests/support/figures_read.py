"""What stands in a figure that is a plain dictionary: its numbers, its traces, its words."""


def numbers(part):
    """Every number of a figure."""
    if isinstance(part, dict):
        for value in part.values():
            yield from numbers(value)
    elif isinstance(part, list):
        for value in part:
            yield from numbers(value)
    elif isinstance(part, float):
        yield part


def traces(figure, **wanted):
    """Traces whose keys have these values."""
    return [trace for trace in figure["data"] if all(trace.get(key) == value for key, value in wanted.items())]


def strokes(trace):
    """The strokes of a trace of lines, each a list of (x, y)."""
    found = [[]]
    for x, y in zip(trace["x"], trace["y"], strict=True):
        if x is None or y is None:
            found.append([])
        else:
            found[-1].append((x, y))
    return [stroke for stroke in found if stroke]


def all_words(figure):
    """Every word the figure shows."""
    words = [note["text"] for note in figure["layout"].get("annotations", [])]
    return words + [text for trace in figure["data"] for text in trace.get("text", [])]
