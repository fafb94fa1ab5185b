#!/usr/bin/python3
"""What one would write without this project: one card's homography, GrabCut at full size inside a box,
largest contour. For comparison only (make ablation); needs Debian's python3-opencv and python3-numpy.

plain_script.py PHOTO.jpg BOX > outline.json     BOX = x0,y0,x1,y1 in pixels, as drawn by hand
"""
import json
import resource
import sys
import time

import cv2
import numpy as np


def scale_card(grey):
    """Corner pixels and millimetres of the largest tag."""
    book = cv2.aruco.Dictionary_get(cv2.aruco.DICT_APRILTAG_36h11)
    how = cv2.aruco.DetectorParameters_create()
    how.cornerRefinementMethod = cv2.aruco.CORNER_REFINE_SUBPIX
    corners, _, _ = cv2.aruco.detectMarkers(grey, book, parameters=how)
    if not corners:
        sys.exit("no card")
    best = max(corners, key=lambda c: cv2.contourArea(c.astype(np.float32)))[0]
    return best.astype(np.float64), np.array([[-20, 20], [20, 20], [20, -20], [-20, -20]], float)


def main():
    start = time.process_time()
    photo = cv2.imread(sys.argv[1])
    decode = time.process_time() - start
    x0, y0, x1, y1 = map(int, sys.argv[2].split(","))
    pixels, mm = scale_card(cv2.cvtColor(photo, cv2.COLOR_BGR2GRAY))
    to_mm, _ = cv2.findHomography(pixels, mm)
    mask = np.zeros(photo.shape[:2], np.uint8)
    cv2.grabCut(photo, mask, (x0, y0, x1 - x0, y1 - y0), np.zeros((1, 65)), np.zeros((1, 65)), 5, cv2.GC_INIT_WITH_RECT)
    cloth = ((mask == cv2.GC_FGD) | (mask == cv2.GC_PR_FGD)).astype(np.uint8)
    rings, _ = cv2.findContours(cloth, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    ring = max(rings, key=cv2.contourArea)[:, 0].astype(np.float64)[::4]
    outline = cv2.perspectiveTransform(ring[:, None], to_mm)[:, 0]
    if np.sum(outline[:, 0] * np.roll(outline[:, 1], -1) - np.roll(outline[:, 0], -1) * outline[:, 1]) < 0:
        outline = outline[::-1]
    json.dump({
        "outline_mm": np.round(outline, 3).tolist(),
        "cpu_s": round(time.process_time() - start, 2), "decode_s": round(decode, 3),
        "peak_mib": resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024,
    }, sys.stdout)


main()
