"""The plain stock recipe, to stand beside: board by OpenCV, Canny, probabilistic Hough, lines merged on the board's plane."""

from __future__ import annotations

import cv2
import numpy as np


def board_homography(grey):
    """Homography from pixels to mm on the board's face by the stock ChArUco detector, or None."""
    dictionary = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_5X5_1000)
    board = cv2.aruco.CharucoBoard((7, 5), 36.0, 27.0, dictionary)
    corners, ids, _, _ = cv2.aruco.CharucoDetector(board).detectBoard(grey)
    if ids is None or len(ids) < 6:
        return None
    mm = np.asarray(board.getChessboardCorners())[ids.ravel(), :2]
    return cv2.findHomography(corners.reshape(-1, 2), mm.astype(np.float32), cv2.RANSAC, 2.0)[0]


def measure(photo, reach_mm=800.0):
    """Layers as lists of bars (end points in pixels, offset in mm), or None without a board."""
    grey = cv2.cvtColor(photo, cv2.COLOR_BGR2GRAY)
    to_mm = board_homography(grey)
    if to_mm is None:
        return None
    edges = cv2.Canny(cv2.GaussianBlur(grey, (5, 5), 0), 60, 150)
    segments = cv2.HoughLinesP(edges, 1, np.pi / 360, 120, minLineLength=200, maxLineGap=30)
    if segments is None:
        return []
    ends = cv2.perspectiveTransform(segments.reshape(-1, 1, 2).astype(np.float64), to_mm).reshape(-1, 2, 2)
    middle = ends.mean(axis=1) - [126.0, 90.0]
    keep = np.hypot(*middle.T) < reach_mm
    ends, segments = ends[keep], segments.reshape(-1, 2, 2)[keep]
    run = ends[:, 1] - ends[:, 0]
    angle = np.degrees(np.arctan2(run[:, 1], run[:, 0])) % 180
    length = np.hypot(*run.T)
    layers = []
    left = np.ones(len(ends), bool)
    for _ in range(2):
        if not left.any():
            break
        votes = np.bincount(np.floor(angle[left]).astype(int), length[left], 180)
        direction = np.argmax(np.convolve(np.r_[votes[-3:], votes, votes[:3]], np.ones(7), "valid"))
        near = left & (np.abs((angle - direction + 90) % 180 - 90) < 5)
        left &= ~(np.abs((angle - direction + 90) % 180 - 90) < 25)
        # The bin's middle is half a degree off at worst, which moves a line's offset by millimetres: take the mean.
        turned = (angle[near] - direction + 90) % 180 - 90
        a = np.radians(direction + np.average(turned, weights=length[near]))
        offset = ends.mean(axis=1) @ [-np.sin(a), np.cos(a)]
        order = np.flatnonzero(near)[np.argsort(offset[near])]
        bars, group = [], []
        for k in order:
            if group and offset[k] - offset[group[0]] > 25.0:
                bars.append(group)
                group = []
            group.append(k)
        bars += [group] if group else []
        layers.append([_bar(g, offset, length, segments) for g in bars if length[g].sum() > 300.0])
    return layers


def _bar(group, offset, length, segments):
    longest = group[int(np.argmax(length[group]))]
    return {
        "line_px": segments[longest].astype(float),
        "offset_mm": float(np.average(offset[group], weights=length[group])),
    }
