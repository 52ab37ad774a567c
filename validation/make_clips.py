"""Draws a back-lit clip of the reference generator: make_clips.py SIZE FRAMES FOLDER [film]
Writes FOLDER/stills/*.png and FOLDER/clip.mp4 (H.264, crf 14, 250 frames/s) and prints the truth as one line of JSON;
with `film` no stills."""
import json
import os
import sys

sys.path.insert(0, os.path.join(os.path.dirname(os.path.abspath(__file__)), "baseline"))
import av
import cv2
import gen
import numpy as np


def draw(size, frames, folder, stills=True):
    os.makedirs(os.path.join(folder, "stills"), exist_ok=True)
    width, height, _, radius = gen.SIZES[size]
    with av.open(os.path.join(folder, "clip.mp4"), "w") as out:
        stream = out.add_stream("libx264", rate=250)
        stream.width, stream.height, stream.pix_fmt = width, height, "yuv420p"
        stream.options = {"crf": "14"}
        for i, grey in enumerate(gen.clip(size, "backlit", n=frames)):
            if stills:
                cv2.imwrite(os.path.join(folder, "stills", f"{i:05d}.png"), grey)
            # Grey levels become luma by the usual limited range, as an ordinary encoder does.
            frame = av.VideoFrame.from_ndarray(grey, format="gray").reformat(format="yuv420p")
            out.mux(stream.encode(frame))
        out.mux(stream.encode(None))
    angular, decay = gen.lamb()
    return dict(radius_px=radius, radius_m=gen.RMM * 1e-3, density=gen.RHO, tension=gen.SIGMA,
                frequency=list(angular / (2 * np.pi)), decay=list(decay),
                amplitude=list(gen.AMP), phase=list(gen.PHI))


if __name__ == "__main__":
    print(json.dumps(draw(sys.argv[1], int(sys.argv[2]), sys.argv[3], stills=sys.argv[4:] != ["film"])))
