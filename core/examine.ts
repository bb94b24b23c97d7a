import type { ExamineFunction } from './index.ts';
import { ENGINE_VERSION } from './version.ts';
import {
  refuse,
  REPORT_VERSION,
  type ExaminationAnswer,
  type ExaminationReport,
  type FlatSingle,
  type Outcome,
} from '../shared/index.ts';
import { usedScale, type UsedScale } from './compare.ts';
import { examineEndOn } from './facet/index.ts';
import { checkFit, checkPrepared } from './tip/checks.ts';
import { fitClean, type CleanSingle } from './tip/clean-single.ts';
import { contourOf } from './tip/contour.ts';
import { polarAt, wornDepth } from './edge/offsets.ts';
import { KAPPA, POSE, SIGMA, WEIGHT } from './tip/capture-model.ts';
import { prepareCapture } from './tip/prepare.ts';
import { arcUsed, misfitInflation, radiusOf } from './tip/report-pair.ts';
import { edgeWidth } from './tip/sharpness.ts';
import { isSilhouette } from './tip/silhouette.ts';
import { wideBacklight, wideLightOf, withoutMirror } from './tip/wide-light.ts';
import { suspicionsOf } from './tip/suspect.ts';
import { glare } from './tip/glare.ts';
import { measuredWidth, POSE_RELATIVE, readWalls, wallBudget, type Side } from './tip/walls.ts';
import { wedgeOf } from './tip/wedge.ts';
import { examinationWithRepeatability } from './uncertainty/index.ts';
import { noTipIn } from './views.ts';

const DEGREE = 180 / Math.PI;

/**
 * Examines one capture without a baseline: absolute flats, left against right, tip radius, what stands out from the
 * fitted shape, and what the picture could have shown; end-on, the flats' bright patches. Needs a scale: widths of one capture have no other yardstick.
 */
export const examineCapture: ExamineFunction = async (input, control) => {
  const started = control.now();
  const no = (o: Outcome<unknown>): ExaminationReport => {
    if (o.ok) throw new Error('examineCapture: refusal expected');
    return {
      ok: false,
      ...(input.id === undefined ? {} : { id: input.id }),
      reportVersion: REPORT_VERSION,
      engineVersion: ENGINE_VERSION,
      reason: o.reason,
      timingMs: control.now() - started,
    };
  };
  if (input.view === 'end-on') return examineEndOn(input, control);
  const unseen = noTipIn(input.view);
  if (unseen !== null) return no(unseen);
  if (input.scale === null)
    return no(
      refuse(
        'scale-missing',
        'This picture has no scale yet. Give µm per pixel, two points of known distance, or carry a scale over.',
      ),
    );
  const scale = usedScale(input.scale);
  control.progress('Finding the tip', 0.1);
  control.check();
  const prepared = prepareCapture(input.picture, scale.umPerPx);
  if (!prepared.ok) return no(prepared);
  const checked = checkPrepared(prepared.value, 'This picture');
  if (!checked.ok) return no(checked);
  control.progress('Fitting the outline', 0.4);
  control.check();
  const clean = fitClean(prepared.value);
  const believed = checkFit(clean.fit, 'This picture');
  if (!believed.ok) return no(believed);
  control.progress('Measuring', 0.9);
  control.check();
  const { light, ...numbers } = numbersOf(clean, scale);
  const report: ExaminationAnswer = {
    ok: true,
    ...(input.id === undefined ? {} : { id: input.id }),
    reportVersion: REPORT_VERSION,
    engineVersion: ENGINE_VERSION,
    unit: 'um',
    ...numbers,
    warnings: [...checked.value, ...believed.value, ...(light ? wideBacklight([light]) : [])],
    timingMs: control.now() - started,
  };
  return input.repeatability === undefined
    ? report
    : examinationWithRepeatability(report, input.repeatability);
};

function numbersOf(clean: CleanSingle, scale: UsedScale) {
  const { fit, offsets, runs } = clean;
  const { problem, fitted } = fit;
  const p = fitted.p;
  const wedge = wedgeOf(p);
  const { model, map } = problem.parts[0];
  const silhouette = isSilhouette(fit.prepared, model, p);
  const inflation = misfitInflation({ offsets: [offsets] }, silhouette);
  const doubt = (side: Side): number => glare(fit.prepared, model, p, side);
  const read = readWalls(problem, fitted, map, inflation, { left: doubt('left'), right: doubt('right') });
  const light = silhouette ? wideLightOf(fit.prepared, p) : null;
  const { walls, lines } = withoutMirror(wedge, read, light);
  const flat = (side: Side): FlatSingle => {
    const relative = { scale: scale.relative, scaleNote: scale.note, pose: POSE_RELATIVE };
    const budget = [...wallBudget(wedge, walls[side], relative), ...lines[side]];
    return {
      widthUm: measuredWidth(wedge, walls[side], budget),
      decisionThresholdUm: walls[side].thresholdWidth,
      detectionLimitUm: walls[side].limitWidth,
      detected: walls[side].detected,
      directionDeg: side === 'right' ? 45 + wedge.wallRight * DEGREE : 135 - wedge.wallLeft * DEGREE,
      budget,
    };
  };
  const finite = Array.from(offsets.delta).filter(Number.isFinite);
  return {
    light,
    sharpness: { edgeUm: edgeWidth(p[SIGMA], p[WEIGHT]) },
    tip: {
      ...radiusOf(wedge.radius, fitted.covariance[0], inflation, scale),
      arcDeg: arcUsed(wedge, walls),
    },
    flats: { left: flat('left'), right: flat('right') },
    shapeResidualUm: Math.sqrt(finite.reduce((sum, v) => sum + v * v, 0) / Math.max(1, finite.length)),
    suspicions: suspicionsOf(runs, p),
    drawing: {
      pose: {
        xPx: p[POSE] / scale.umPerPx,
        yPx: p[POSE + 1] / scale.umPerPx,
        rotationDeg: p[POSE + 2] * DEGREE,
        umPerPx: scale.umPerPx * (1 + p[KAPPA]),
      },
      contour: contourOf(wedge, offsets),
      profile: Array.from(offsets.s, (s, i): [number, number, number] => [
        polarAt(wedge, s),
        wornDepth(wedge, s) - (Number.isFinite(offsets.delta[i]) ? offsets.delta[i] : 0),
        2 * offsets.noise,
      ]),
    },
  };
}
