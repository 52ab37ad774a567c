"""CPU time, wall time and peak memory of whole processes on one clip at two lengths:
speed.py TREMOLET VALIDATION SIZE SHORT LONG FOLDER.  Prints one line of JSON."""
import json
import os
import platform
import shutil
import statistics
import subprocess
import sys

here = os.path.dirname(os.path.abspath(__file__))

# A process is charged with the memory of the one that started it, so a small one starts each.
LAUNCHER = """
import os, sys, time
start = time.monotonic()
child = os.posix_spawn(sys.argv[1], sys.argv[1:], os.environ,
                       file_actions=[(os.POSIX_SPAWN_OPEN, n, os.devnull, os.O_WRONLY, 0) for n in (1, 2)])
_, status, used = os.wait4(child, 0)
print(os.waitstatus_to_exitcode(status), used.ru_utime + used.ru_stime, time.monotonic() - start, used.ru_maxrss / 1024)
"""


def measured(words):
    said = subprocess.run([sys.executable, "-S", "-c", LAUNCHER, *words], capture_output=True, text=True, check=True)
    code, *figures = said.stdout.split()
    if code != "0":
        sys.exit(f"{words[0]} ended with {code}")
    return [float(figure) for figure in figures]


EXPERIMENT = """format = 1
title = "speed"
kind = "release"
[liquid]
density = "1150 +- 1 kg/m^3"
[camera]
capture_rate = "250 fps"
scale = "0.06 +- 0.0001 mm/px"
[clip]
path = "clip.mp4"
"""


def main(program, validation, size, short, long, folder):
    commands = {}
    for frames in (short, long):
        place = os.path.join(folder, str(frames))
        subprocess.run([sys.executable, os.path.join(here, "make_clips.py"), size, str(frames), place, "film"],
                       stdout=subprocess.DEVNULL, check=True)
        with open(os.path.join(place, "run.toml"), "w") as file:
            file.write(EXPERIMENT)
        clip, run = os.path.join(place, "clip.mp4"), os.path.join(place, "run")
        commands[frames] = {"tremolet measure": [program, "measure", os.path.join(place, "run.toml"), "--out", run],
                            "tremolet measure --no-overlay": [program, "measure", os.path.join(place, "run.toml"), "--out", run, "--no-overlay"],
                            "embedded decoder alone": [validation, "decode", clip],
                            "script": [sys.executable, os.path.join(here, "beside.py"), clip, size]}
        if shutil.which("ffmpeg"):
            commands[frames]["ffmpeg decoding alone"] = [shutil.which("ffmpeg"), "-v", "error", "-threads", "1", "-i", clip, "-f", "null", "-"]
    runs = []
    for name in commands[short]:
        taken = {frames: [] for frames in (short, long)}
        for _ in range(3):
            for frames in (short, long):
                shutil.rmtree(os.path.join(folder, str(frames), "run"), ignore_errors=True)
                taken[frames].append(measured(commands[frames][name]))
        middle = lambda i: [statistics.median(t[i] for t in taken[frames]) for frames in (short, long)]
        runs.append(dict(name=name, cpu_s=middle(0), wall_s=middle(1), peak_mib=middle(2)))
    machine = f"{os.cpu_count()} cores, {platform.machine()}, {platform.system()}"
    print(json.dumps(dict(machine=machine, frames=[short, long], runs=runs)))


if __name__ == "__main__":
    main(*sys.argv[1:4], int(sys.argv[4]), int(sys.argv[5]), sys.argv[6])
