import { existsSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { imageShift } from '../../core/calibration/index.ts';
import { fitCircle } from '../../core/fit/circle.ts';
import { fitEllipse } from '../../core/fit/ellipse.ts';
import { fitLineYork } from '../../core/fit/line.ts';
import { eigenSymmetric } from '../../core/fit/linear-algebra.ts';
import type { GreyImage } from '../../core/image/grey.ts';
import { chiSquareQuantile, normalCdf, studentTQuantile } from '../../core/uncertainty/index.ts';
import { gander, pearsonYork } from './data/published.ts';
import { askPython } from './python.ts';

describe('against SciPy', () => {
  it('quantiles of t, chi-square and the normal distribution', () => {
    const t: [number, number][] = [0.6, 0.95, 0.97725, 0.9995].flatMap((p) =>
      [1, 2.5, 4, 19, 250].map((d): [number, number] => [p, d]),
    );
    const reference = askPython(
      'quantiles against SciPy',
      ['scipy.stats'],
      `import json
from scipy import stats
q = ${JSON.stringify(t)}
print(json.dumps({'t': [stats.t.ppf(p, d) for p, d in q], 'chi': [stats.chi2.ppf(p, d) for p, d in q],
  'tail': [stats.norm.cdf(z) for z in (-9, -5, -2, 0.3, 4)]}))`,
    ) as { t: number[]; chi: number[]; tail: number[] } | null;
    if (reference === null) return;
    // SciPy 1.10 inverts to about 1e-9 itself.
    t.forEach(([p, d], i) => {
      expect(Math.abs(studentTQuantile(p, d) / reference.t[i] - 1)).toBeLessThan(1e-8);
      expect(Math.abs(chiSquareQuantile(p, d) / reference.chi[i] - 1)).toBeLessThan(1e-8);
    });
    [-9, -5, -2, 0.3, 4].forEach((z, i) =>
      expect(Math.abs(normalCdf(z) / reference.tail[i] - 1)).toBeLessThan(1e-10),
    );
  });

  it('a line with errors in both variables (orthogonal distance regression)', () => {
    const reference = askPython(
      'York fit against SciPy ODR',
      ['scipy.odr', 'numpy'],
      `import json, numpy as np
from scipy import odr
x, y = np.array(${JSON.stringify(pearsonYork.x)}), np.array(${JSON.stringify(pearsonYork.y)})
wx, wy = np.array(${JSON.stringify(pearsonYork.weightX)}, float), np.array(${JSON.stringify(pearsonYork.weightY)}, float)
run = odr.ODR(odr.RealData(x, y, sx=wx**-0.5, sy=wy**-0.5), odr.unilinear, beta0=[-0.5, 5.0], sstol=1e-15, partol=1e-15, maxit=500).run()
print(json.dumps({'beta': list(run.beta)}))`,
    ) as { beta: number[] } | null;
    if (reference === null) return;
    const fit = fitLineYork(
      pearsonYork.x,
      pearsonYork.y,
      pearsonYork.weightX.map((w) => 1 / Math.sqrt(w)),
      pearsonYork.weightY.map((w) => 1 / Math.sqrt(w)),
    )!;
    expect(fit.slope).toBeCloseTo(reference.beta[0], 6);
    expect(fit.intercept).toBeCloseTo(reference.beta[1], 5);
  });

  it('geometric circle and ellipse (least squares on the distances)', () => {
    const reference = askPython(
      'circle and ellipse against SciPy',
      ['scipy.optimize', 'numpy'],
      `import json, numpy as np
from scipy.optimize import least_squares, minimize_scalar
x, y = np.array(${JSON.stringify(gander.circle.x)}, float), np.array(${JSON.stringify(gander.circle.y)}, float)
c = least_squares(lambda p: np.hypot(x-p[0], y-p[1])-p[2], [5, 5, 4], xtol=1e-15, ftol=1e-15, gtol=1e-15)
ex, ey = np.array(${JSON.stringify(gander.ellipse.x)}, float), np.array(${JSON.stringify(gander.ellipse.y)}, float)
t = np.linspace(0, 2*np.pi, 20001)
def distances(p):
    px = p[0]+p[2]*np.cos(p[4])*np.cos(t)-p[3]*np.sin(p[4])*np.sin(t)
    py = p[1]+p[2]*np.sin(p[4])*np.cos(t)+p[3]*np.cos(p[4])*np.sin(t)
    return np.array([np.min(np.hypot(px-a, py-b)) for a, b in zip(ex, ey)])
e = [${gander.ellipse.centre[0]}, ${gander.ellipse.centre[1]}, ${gander.ellipse.a}, ${gander.ellipse.b}, ${gander.ellipse.angle}]
print(json.dumps({'circle': list(c.x), 'cost': float(np.sum(distances(e)**2))}))`,
    ) as { circle: number[]; cost: number } | null;
    if (reference === null) return;
    const circle = fitCircle(gander.circle.x, gander.circle.y)!;
    expect(circle.x).toBeCloseTo(reference.circle[0], 6);
    expect(circle.y).toBeCloseTo(reference.circle[1], 6);
    expect(circle.radius).toBeCloseTo(reference.circle[2], 6);
    // The published ellipse, measured with brute-force distances, is as good as ours and no better.
    const ellipse = fitEllipse(gander.ellipse.x, gander.ellipse.y)!;
    expect(ellipse.residualStandard ** 2 * 3).toBeLessThan(reference.cost * 1.0001);
    expect(ellipse.residualStandard ** 2 * 3).toBeGreaterThan(reference.cost * 0.9999);
  });
});

type Shifted = { width: number; height: number; one: number[]; two: number[]; noisy: number[] };
const grey = (width: number, height: number, data: readonly number[]): GreyImage => ({
  width,
  height,
  data: Float32Array.from(data, (v) => v / 255),
  clippedFraction: 0,
});

describe('against scikit-image', () => {
  it("sub-pixel shift of its picture 'camera' by (-2.4, 1.32)", () => {
    const reference = askPython(
      'sub-pixel shift on a packaged picture',
      ['skimage', 'scipy.ndimage', 'numpy'],
      `import json, numpy as np
from scipy.ndimage import fourier_shift
from skimage import data
image = data.camera().astype(float)
moved = np.fft.ifftn(fourier_shift(np.fft.fftn(image), (-2.4, 1.32))).real
rng = np.random.default_rng(1)
noisy = moved + rng.normal(0, 10, moved.shape)
r = lambda a: np.round(a, 3).ravel().tolist()
print(json.dumps({'width': image.shape[1], 'height': image.shape[0], 'one': r(image), 'two': r(moved), 'noisy': r(noisy)}))`,
    ) as Shifted | null;
    if (reference === null) return;
    const { width, height } = reference;
    const one = grey(width, height, reference.one);
    // Rows first in the reference: dy = -2.4, dx = 1.32. The published result is good to 0.05 px.
    const clean = imageShift(one, grey(width, height, reference.two))!;
    expect(Math.abs(clean.dx - 1.32)).toBeLessThan(0.05);
    expect(Math.abs(clean.dy + 2.4)).toBeLessThan(0.05);
    // Noise of 10 grey levels: 0.004 px rms in the reference; five of that on top of the clean result.
    const noisy = imageShift(one, grey(width, height, reference.noisy))!;
    expect(Math.hypot(noisy.dx - clean.dx, noisy.dy - clean.dy)).toBeLessThan(0.02);
  });

  it('another picture is no shifted copy', () => {
    const reference = askPython(
      'shift between unlike pictures',
      ['skimage', 'numpy'],
      `import json, numpy as np
from skimage import data
a, b = data.camera().astype(float), data.brick().astype(float)
print(json.dumps({'width': 512, 'height': 512, 'one': a.ravel().tolist(), 'two': b.ravel().tolist()}))`,
    ) as { width: number; height: number; one: number[]; two: number[] } | null;
    if (reference === null) return;
    const shift = imageShift(grey(512, 512, reference.one), grey(512, 512, reference.two));
    expect(shift === null || shift.residual > 0.05).toBe(true);
  });
});

/** Homography by least squares on the smallest eigenvector, points brought to unit size first, outliers cut robustly. */
function homography(from: readonly number[][], to: readonly number[][]): number[] {
  let keep = from.map(() => true);
  let best: number[] = [];
  // The matches hold many wrong ones: start from the best of seeded fours, then refine on the inliers.
  let most = 0;
  let state = 12345;
  const random = (n: number): number => {
    state = (Math.imul(state, 1664525) + 1013904223) >>> 0;
    return Math.floor((state / 2 ** 32) * n);
  };
  for (let k = 0; k < 2000; k++) {
    const four = Array.from({ length: 4 }, () => random(from.length));
    if (new Set(four).size < 4) continue;
    const h = direct(
      four.map((i) => from[i]),
      four.map((i) => to[i]),
    );
    const good = from.map((p, i) => distance(h, p, to[i]) < 3);
    const count = good.filter(Boolean).length;
    if (count > most) [most, keep] = [count, good];
  }
  for (let round = 0; round < 5; round++) {
    best = direct(
      from.filter((_, i) => keep[i]),
      to.filter((_, i) => keep[i]),
    );
    keep = from.map((p, i) => distance(best, p, to[i]) < 2);
  }
  return best;
}

function direct(from: readonly number[][], to: readonly number[][]): number[] {
  const s = 1 / 400;
  const normal = new Float64Array(81);
  from.forEach(([x0, y0], i) => {
    const [x, y, u, v] = [x0 * s - 1, y0 * s - 1, to[i][0] * s - 1, to[i][1] * s - 1];
    for (const row of [
      [x, y, 1, 0, 0, 0, -u * x, -u * y, -u],
      [0, 0, 0, x, y, 1, -v * x, -v * y, -v],
    ])
      for (let a = 0; a < 9; a++) for (let b = 0; b < 9; b++) normal[a * 9 + b] += row[a] * row[b];
  });
  const { vectors } = eigenSymmetric(normal, 9);
  return Array.from({ length: 9 }, (_, i) => vectors[i * 9]);
}

function apply(h: readonly number[], [x0, y0]: readonly number[]): [number, number] {
  const s = 1 / 400;
  const [x, y] = [x0 * s - 1, y0 * s - 1];
  const w = h[6] * x + h[7] * y + h[8];
  return [((h[0] * x + h[1] * y + h[2]) / w + 1) / s, ((h[3] * x + h[4] * y + h[5]) / w + 1) / s];
}

const distance = (h: readonly number[], p: readonly number[], q: readonly number[]): number => {
  const [u, v] = apply(h, p);
  return Math.hypot(u - q[0], v - q[1]);
};

describe("against OpenCV's real pair with a known homography", () => {
  it('graf1 and graf3: our least squares on its matched features comes to the published matrix', () => {
    // Debian moves the folder between releases and may compress the matrix.
    const folders = ['data', 'samples/data'].map((f) => `/usr/share/doc/opencv-doc/examples/${f}`);
    const found = folders
      .flatMap((f) => ['', '.gz'].map((end) => [`${f}/graf1.png`, `${f}/graf3.png`, `${f}/H1to3p.xml${end}`]))
      .find((list) => list.every((file) => existsSync(file)));
    if (found === undefined) {
      console.warn('not run: known homography of a packaged pair (opencv-doc is not installed)');
      return;
    }
    const reference = askPython(
      'known homography of a packaged pair',
      ['cv2', 'numpy'],
      `import json, cv2, gzip, re, numpy as np
a, b = (cv2.imread(f, 0) for f in ${JSON.stringify(found.slice(0, 2))})
name = ${JSON.stringify(found[2])}
text = (gzip.open if name.endswith('.gz') else open)(name, 'rt').read()
h = np.array([float(v) for v in re.search(r'<data>(.*?)</data>', text, re.S).group(1).split()]).reshape(3, 3)
sift = cv2.SIFT_create()
ka, da = sift.detectAndCompute(a, None)
kb, db = sift.detectAndCompute(b, None)
pairs = [m for m, n in cv2.BFMatcher().knnMatch(da, db, k=2) if m.distance < 0.75 * n.distance]
print(json.dumps({'from': [ka[m.queryIdx].pt for m in pairs], 'to': [kb[m.trainIdx].pt for m in pairs], 'truth': h.tolist()}))`,
    ) as { from: number[][]; to: number[][]; truth: number[][] } | null;
    if (reference === null) return;
    expect(reference.from.length).toBeGreaterThan(50);
    const h = homography(reference.from, reference.to);
    const [[a, b, c], [d, e, f], [g, i, k]] = reference.truth;
    // The wall fills most of the 800 x 640 picture; its middle half is where features lie on it. One to two pixels is
    // what features localise across such a change of view.
    const errors: number[] = [];
    for (let x = 200; x <= 600; x += 100)
      for (let y = 160; y <= 480; y += 80) {
        const w = g * x + i * y + k;
        const [u, v] = apply(h, [x, y]);
        errors.push(Math.hypot(u - (a * x + b * y + c) / w, v - (d * x + e * y + f) / w));
      }
    expect(Math.sqrt(errors.reduce((s, r) => s + r * r, 0) / errors.length)).toBeLessThan(2);
  });
});

describe('mathematics of a blurred edge', () => {
  it('rises from 10 to 90 % within 2.5631 sigma, and MTF50 x (10-90 %) = 0.4803 (ISO 12233 for the method)', () => {
    const sigma = 1.7;
    let [low, high] = [0, 0];
    for (let x = -10; x < 10; x += 1e-4) {
      if (normalCdf(x / sigma) < 0.1) low = x;
      if (normalCdf(x / sigma) < 0.9) high = x;
    }
    expect((high - low) / sigma).toBeCloseTo(2.5631, 3);
    const mtf50 = Math.sqrt(Math.log(2) / 2) / (Math.PI * sigma);
    expect(mtf50 * (high - low)).toBeCloseTo(0.4803, 3);
  });

  it('draws a convex edge inwards by sigma^2/(2R): R 15, sigma 2: -0.133', () => {
    // Light of a blurred disc on a line from its middle, by summing rings (Mendonca et al., abstract read; computed).
    const [radius, sigma] = [15, 2];
    const light = (r: number): number => {
      let sum = 0;
      const h = 0.05;
      for (let x = -radius; x <= radius; x += h) {
        const half = Math.sqrt(radius * radius - x * x);
        const across = normalCdf((half - 0) / sigma) - normalCdf((-half - 0) / sigma);
        sum += (Math.exp(-0.5 * ((x - r) / sigma) ** 2) / (sigma * Math.sqrt(2 * Math.PI))) * across * h;
      }
      return sum;
    };
    let [low, high] = [13, 16];
    for (let i = 0; i < 50; i++) {
      const middle = (low + high) / 2;
      if (light(middle) > 0.5) low = middle;
      else high = middle;
    }
    // First order in sigma/R; the next is a few times (sigma/R)^2 = 2 % of it.
    expect((low - radius) / -(sigma ** 2 / (2 * radius))).toBeGreaterThan(0.95);
    expect((low - radius) / -(sigma ** 2 / (2 * radius))).toBeLessThan(1.06);
  });
});
