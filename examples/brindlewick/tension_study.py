"""How tight may line L1 of the invented park be? Its uses over the standing tension, and where the word changes.

    python examples/brindlewick/tension_study.py [PICTURE.png]
"""

import sys
from pathlib import Path

import matplotlib
import numpy as np

import siteassess as sa

matplotlib.use("Agg")
import matplotlib.pyplot as plt  # noqa: E402

PATH = "lines.L1.standing.tension"
MARKS = {"suits": "o", "suits if": "s", "cannot say": "^", "leave it": "x"}


def study(park: sa.Record, tensions_kn: np.ndarray):
    """One row a tension, as `sweep` gives it."""
    return sa.sweep(park, PATH, tensions_kn, unit="kN", line="L1")


def draw(frame, target: Path) -> None:
    """Hold and care use over the tension; the mark tells the word, so that it is read in grey too."""
    figure, axes = plt.subplots(figsize=(7, 4), layout="constrained")
    for use, style in (("hold_use", "-"), ("care_use", "--")):
        axes.plot(frame[PATH], frame[use], style, color="#333333", label=use.replace("_", " "))
    for verdict, mark in MARKS.items():
        of = frame[frame["verdict"] == verdict]
        if len(of):
            axes.plot(of[PATH], of["hold_use"], mark, color="#000000", label=verdict)
    axes.axhline(1.0, color="#888888", linewidth=1)
    axes.set(xlabel="standing tension [kN]", ylabel="share of our limit [-]",
             title="Line L1, Brindlewick Common (invented): an estimate, no inspection")
    axes.legend()
    figure.savefig(target, dpi=120)
    plt.close(figure)


if __name__ == "__main__":
    target = Path(sys.argv[1] if len(sys.argv) > 1 else "tension_study.png")
    frame = study(sa.read(Path(__file__).with_name("park.yaml")), np.linspace(1, 12, 12))
    print(frame[[PATH, "verdict", "hold_use", "care_use", "deciding"]].to_string(index=False))
    draw(frame, target)
