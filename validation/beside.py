"""Runs the careful script on a clip of the generator: beside.py CLIP SIZE  (a folder of PNG stills or an MP4).
Prints its differences from the truth as one line of JSON."""
import os
import sys

sys.path.insert(0, os.path.join(os.path.dirname(os.path.abspath(__file__)), "baseline"))
import pipe

path, size = sys.argv[1:]
if os.path.isdir(path):
    # The script knows a folder of stills by the ending of its name.
    linked = path.rstrip("/") + "-png"
    if not os.path.exists(linked):
        os.symlink(os.path.abspath(path), linked)
    path = linked
pipe.main(path, size, "skc", "all")
