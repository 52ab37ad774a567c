"""Runs the independent scripts of this folder and holds what they print to what is committed beside them (NAME.txt), number by number.

    python3 validation/theory/check.py            all but the slow ones
    python3 validation/theory/check.py full       all
    python3 validation/theory/check.py write [NAME ...]   writes NAME.txt anew: look at the difference before you commit it

The tests of crates/theory, crates/optics and crates/matter hold the digits that stand in these texts; a script that prints something else fails here.
"""
import pathlib
import re
import subprocess
import sys

HERE = pathlib.Path(__file__).parent
SLOW = {"column", "held", "in_gas"}
NUMBER = re.compile(r"[-+]?\d+(?:\.\d*)?(?:[eE][-+]?\d+)?")


def said(name):
    found = subprocess.run([sys.executable, HERE / f"{name}.py"], capture_output=True, text=True)
    if found.returncode:
        raise SystemExit(f"{name}.py failed:\n{found.stderr[-2000:]}")
    return found.stdout


def differences(due, found):
    due, found = due.splitlines(), found.splitlines()
    if len(due) != len(found):
        yield f"{len(found)} lines, {len(due)} were due"
    for k, (a, b) in enumerate(zip(due, found), 1):
        if NUMBER.sub("#", a) != NUMBER.sub("#", b):
            yield f"line {k}: {b!r}, due {a!r}"
            continue
        for x, y in zip(NUMBER.findall(a), NUMBER.findall(b)):
            # Nine digits, or nothing but rounding around zero.
            if abs(float(x) - float(y)) > 2e-9 * abs(float(x)) + 1e-10 and abs(float(x) - float(y)) > 1.5 * last(x):
                yield f"line {k}: {y}, due {x}"


def last(number):
    """One in the last digit that is printed."""
    head, _, tail = number.lower().partition("e")
    return 10.0 ** (-len(head.partition(".")[2]) + int(tail or 0))


def main(words):
    names = sorted(path.stem for path in HERE.glob("*.py") if path.stem != "check")
    if words[:1] == ["write"]:
        for name in words[1:] or names:
            (HERE / f"{name}.txt").write_text(said(name))
        return 0
    faults = 0
    for name in names:
        if name in SLOW and words != ["full"]:
            print(f"{name}: slow, left out (say full)")
            continue
        text = HERE / f"{name}.txt"
        if not text.exists():
            print(f"{name}: no {text.name} to hold it to")
            faults += 1
            continue
        found = list(differences(text.read_text(), said(name)))
        faults += len(found)
        print(f"{name}: " + ("as committed" if not found else "; ".join(found[:10])))
    return 1 if faults else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
