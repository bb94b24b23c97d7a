"""The yardstick of `npm run bench`: the same steps with OpenCV, scikit-image and SciPy, plainly put together.

native.py PAIRS.jsonl [processes]  reads the command line's own pairs file and prints one JSON object per pair:
decode, even out the background, contour, registration that leaves the tip out, flats fitted left and right. It states
no uncertainty, refuses nothing, and finds no chip; it is there for its time, not for its answers.
"""

import json
import os
import sys
import time

import cv2
import numpy as np
from scipy.optimize import least_squares
from scipy.spatial import cKDTree
from skimage.measure import find_contours

HERE = None


class Clock:
    def __init__(self):
        self.at = time.perf_counter()
        self.steps = {}

    def step(self, name):
        now = time.perf_counter()
        self.steps[name] = self.steps.get(name, 0) + (now - self.at) * 1000
        self.at = now


def flattened(grey):
    """Departure from a quadratic background, as a share of it. The background is what most of the border shows."""
    small = cv2.resize(grey, None, fx=1 / 8, fy=1 / 8, interpolation=cv2.INTER_AREA)
    h, w = small.shape
    y, x = np.mgrid[0:h, 0:w]
    u, v = x.ravel() / w - 0.5, y.ravel() / h - 0.5
    terms = np.stack([np.ones_like(u), u, v, u * u, u * v, v * v], 1)
    values = small.ravel()
    border = np.concatenate([small[0], small[-1], small[:, 0], small[:, -1]])
    counts, edges = np.histogram(border, 32)
    keep = np.abs(values - edges[np.argmax(counts)]) < 30
    for limit in (20, 12, 8):
        fit, *_ = np.linalg.lstsq(terms[keep], values[keep], rcond=None)
        keep = np.abs(values - terms @ fit) < limit
    H, W = grey.shape
    u = ((np.arange(W) + 0.5) / W - 0.5)[None, :].astype(np.float32)
    v = ((np.arange(H) + 0.5) / H - 0.5)[:, None].astype(np.float32)
    c = fit.astype(np.float32)
    background = c[0] + c[1] * u + c[2] * v + c[3] * u * u + c[4] * u * v + c[5] * v * v
    return np.abs(grey / np.maximum(background, 1) - 1)


def outline(departure):
    """Sub-pixel outline of the largest thing that departs from the background, and its mask."""
    smooth = cv2.GaussianBlur(departure, (0, 0), 1.0)
    eight = np.clip(smooth * 255, 0, 255).astype(np.uint8)
    level, _ = cv2.threshold(eight, 0, 255, cv2.THRESH_BINARY + cv2.THRESH_OTSU)
    mask = (eight > level).astype(np.uint8)
    _, labels, stats, _ = cv2.connectedComponentsWithStats(mask)
    largest = 1 + np.argmax(stats[1:, cv2.CC_STAT_AREA])
    mask = (labels == largest).astype(np.uint8)
    outer, _ = cv2.findContours(mask, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    cv2.drawContours(mask, outer, -1, 1, cv2.FILLED)
    band = cv2.dilate(mask, np.ones((9, 9), np.uint8)) - cv2.erode(mask, np.ones((9, 9), np.uint8))
    held = np.where(band > 0, smooth, np.where(mask > 0, level / 255 + 0.2, level / 255 - 0.2))
    lines = find_contours(held, level / 255)
    points = max(lines, key=len)[:, ::-1]
    h, w = mask.shape
    inside = (points[:, 0] > 3) & (points[:, 0] < w - 4) & (points[:, 1] > 3) & (points[:, 1] < h - 4)
    return points[inside], mask


def circle(points):
    """Centre and radius by geometric least squares from an algebraic start."""
    x, y = points[:, 0], points[:, 1]
    a, *_ = np.linalg.lstsq(np.stack([x, y, np.ones_like(x)], 1), x * x + y * y, rcond=None)
    start = [a[0] / 2, a[1] / 2, np.sqrt(max(a[2] + a[0] ** 2 / 4 + a[1] ** 2 / 4, 1))]
    fit = least_squares(lambda p: np.hypot(x - p[0], y - p[1]) - p[2], start, loss="soft_l1")
    return fit.x


def pose(points, mask, um_per_px):
    """Tip centre, radius and direction from the shank to the tip (unit vector), in pixels."""
    edge = np.zeros_like(mask)
    edge[:2], edge[-2:], edge[:, :2], edge[:, -2:] = 1, 1, 1, 1
    ys, xs = np.nonzero(mask & edge)
    root = np.array([xs.mean(), ys.mean()])
    tip = points[np.argmax(np.hypot(*(points - root).T))]
    for reach in (45, 35, 30):
        near = points[np.hypot(*(points - tip).T) < reach / um_per_px]
        cx, cy, r = circle(near)
        axis = np.array([cx, cy]) - root
        axis /= np.hypot(*axis)
        tip = np.array([cx, cy]) + axis * r
    return np.array([cx, cy]), r, axis


def prepared(path, um_per_px, clock):
    grey = cv2.imread(path, cv2.IMREAD_GRAYSCALE)
    if grey is None:
        raise SystemExit(f"native: cannot read {path}")
    grey = grey.astype(np.float32)
    clock.step("decode")
    departure = flattened(grey)
    clock.step("background")
    points, mask = outline(departure)
    centre, radius, axis = pose(points, mask, um_per_px)
    clock.step("contour")
    return dict(picture=departure, points=points, centre=centre, radius=radius, axis=axis, um=um_per_px)


def turn(axis_from, axis_to):
    return np.arctan2(axis_to[1], axis_to[0]) - np.arctan2(axis_from[1], axis_from[0])


def registered(base, late):
    """2 x 3 matrix, pixels of the baseline to pixels of the later picture: ECC on halved pictures, then the outline."""
    ratio = base["um"] / late["um"]
    angle = turn(base["axis"], late["axis"])
    c, s = np.cos(angle) * ratio, np.sin(angle) * ratio
    warp = np.array([[c, -s, 0], [s, c, 0]], np.float32)
    warp[:, 2] = late["centre"] - warp[:, :2] @ base["centre"]
    half = [cv2.pyrDown(one["picture"]) for one in (base, late)]
    h, w = half[0].shape
    # ECC's mask lies in the input picture: nothing within 2.5 radii of the tip counts.
    y, x = np.mgrid[0 : half[1].shape[0], 0 : half[1].shape[1]]
    away = np.hypot(x - late["centre"][0] / 2, y - late["centre"][1] / 2) > 1.25 * late["radius"]
    start = warp.copy()
    start[:, 2] /= 2
    try:
        stop = (cv2.TERM_CRITERIA_EPS | cv2.TERM_CRITERIA_COUNT, 30, 1e-5)
        _, found = cv2.findTransformECC(
            half[0], half[1], start, cv2.MOTION_AFFINE, stop, away.astype(np.uint8), 5
        )
        found[:, 2] *= 2
    except cv2.error:
        found = warp
    keep = np.hypot(*(base["points"] - base["centre"]).T) > 2.5 * base["radius"]
    keep &= np.hypot(*(base["points"] - base["centre"]).T) < 9 * base["radius"]
    source = base["points"][keep]
    tree = cKDTree(late["points"])
    angle = np.arctan2(found[1, 0], found[0, 0])
    shift = (found[:, :2] @ base["centre"]) + found[:, 2]
    for _ in range(6):
        c, s = np.cos(angle) * ratio, np.sin(angle) * ratio
        m = np.array([[c, -s], [s, c]])
        placed = (source - base["centre"]) @ m.T + shift
        far, at = tree.query(placed)
        near = far < max(3, 3 * np.median(far))
        nearest = late["points"][at[near]]
        before = late["points"][np.maximum(at[near] - 2, 0)]
        after = late["points"][np.minimum(at[near] + 2, len(late["points"]) - 1)]
        tangent = after - before
        normal = np.stack([-tangent[:, 1], tangent[:, 0]], 1)
        normal /= np.maximum(np.hypot(*normal.T), 1e-9)[:, None]
        gap = np.einsum("ij,ij->i", nearest - placed[near], normal)
        arm = placed[near] - shift
        lever = arm[:, 0] * normal[:, 1] - arm[:, 1] * normal[:, 0]
        step, *_ = np.linalg.lstsq(np.column_stack([normal, lever]), gap, rcond=None)
        shift = shift + step[:2]
        angle += step[2]
    return angle, shift, ratio


def tip_frame(points, centre, down, um):
    """Micrometres around the tip's centre, turned so that the tip points down (+y)."""
    angle = np.pi / 2 - down
    c, s = np.cos(angle), np.sin(angle)
    return (points - centre) @ np.array([[c, -s], [s, c]]).T * um


def flats(points, radius):
    """Widths left and right: the outline's distance from the centre, cut off by a straight line, fitted to the points."""
    theta = np.degrees(np.arctan2(points[:, 1], points[:, 0]))
    distance = np.hypot(*points.T)
    result = {}
    for name, middle in (("right", 45), ("left", 135)):
        pick = np.abs(theta - middle) < 38
        t, r = np.radians(theta[pick]), distance[pick]

        def residual(p):
            cut = (p[0] - max(p[1], 0)) / np.maximum(np.cos(t - np.radians(middle) - p[2]), 0.2)
            return np.minimum(p[0], cut) - r

        fit = least_squares(residual, [radius, 1.0, 0.0], loss="soft_l1", f_scale=0.5)
        R, depth = fit.x[0], max(fit.x[1], 0)
        result[name] = float(2 * np.sqrt(max(R * R - (R - depth) ** 2, 0)))
    return result


def compare(pair):
    clock = Clock()
    base = prepared(os.path.join(HERE, pair["baseline"]), pair["baselineScaleUmPerPx"], clock)
    late = prepared(os.path.join(HERE, pair["later"]), pair["laterScaleUmPerPx"], clock)
    angle, shift, ratio = registered(base, late)
    clock.step("registration")
    down = np.arctan2(base["axis"][1], base["axis"][0])
    radius = base["radius"] * base["um"]
    first = flats(tip_frame(base["points"], base["centre"], down, base["um"]), radius)
    second = flats(tip_frame(late["points"], shift, down + angle, late["um"]), radius)
    clock.step("flats")
    turned = -np.degrees(angle)
    return dict(
        id=pair["id"],
        rotationDeg=float((turned + 180) % 360 - 180),
        scaleRatio=float(ratio),
        radiusUm=float(radius),
        baselineUm=first,
        laterUm=second,
        steps=clock.steps,
    )


def main():
    global HERE
    path = sys.argv[1]
    processes = int(sys.argv[2]) if len(sys.argv) > 2 else 1
    HERE = os.path.dirname(os.path.abspath(path))
    with open(path, encoding="utf8") as file:
        pairs = [json.loads(line) for line in file if line.strip()]
    if processes == 1:
        for pair in pairs:
            print(json.dumps(compare(pair)))
        return
    import multiprocessing

    cv2.setNumThreads(1)
    with multiprocessing.get_context("fork").Pool(processes) as pool:
        for answer in pool.imap(compare, pairs):
            print(json.dumps(answer))


main()
