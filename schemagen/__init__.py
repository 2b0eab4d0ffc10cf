"""Turns a parts list and a connections list into a checked, labelled piping schematic.

    from schemagen import read, check, draw

    job = read("house.yaml")
    for finding in check(job): print(finding.message)
    draw(job)                      # shows itself in a notebook
    draw(job).save("house.svg")
"""

__all__ = ["check", "draw", "read"]


def __getattr__(name: str):
    if name in __all__:
        from schemagen import pipeline

        return getattr(pipeline, name)
    raise AttributeError(f"module 'schemagen' has no attribute {name!r}")
