import type { Evidence, WallEvidence } from '../../core/wear/index.ts';
import type {
  Capture,
  FlatPair,
  FlatSingle,
  ListeningPage,
  Mark,
  StylusPage,
  ToneTake,
  WearCourse,
} from '../../shared/index.ts';
import { listeningPage } from './store/listening.ts';
import type { Database } from './store/database.ts';
import { todayHere } from './store/hours.ts';
import { stylusPage } from './store/styluses.ts';
import { courseOf } from './wear/course.ts';

/** Hours between which people think about a new stylus; common practice, settable, no standard. */
export const USUAL_BAND = [400, 1000] as const;

/** Gathers what the collection knows about a stylus into the form that the rules ask for. Nothing is judged here. */
export function evidenceOn(
  db: Database,
  stylusId: string,
  hoursBand: readonly [number, number] = USUAL_BAND,
  today: string = todayHere(),
): Evidence {
  const page = stylusPage(db, stylusId, 'without-lines');
  const heard = listeningPage(db, stylusId);
  const course = courseOf(db, stylusId, { today, practiceHours: hoursBand });
  const look = lookOf(page);
  const setUpOn = setUpCheckedOn(heard);
  return {
    today,
    lastLook: lastDay(page.captures),
    newerPicture: newerThan(page, look),
    hoursNow: page.hoursNow,
    historyKnown: page.stylus.startHours !== null,
    hoursPerWeek: course.habit?.hoursPerWeek ?? null,
    hoursBand,
    left: look?.left ?? null,
    right: look?.right ?? null,
    mirrored: look?.capture.mirrored ?? null,
    limitUm: page.stylus.limitUm,
    limitHours: limitHours(course),
    ...damage(page),
    residue: residueOf(page),
    listening: lastVerdict(page),
    recorded: recordedChange(heard),
    causes: Object.fromEntries(heard.causes.map((one) => [one.cause, one.answer])) as Evidence['causes'],
    // Checked before the picture was taken it says nothing about what made the difference in it.
    setUpChecked: setUpOn !== null && (look?.day ?? null) !== null && setUpOn >= (look?.day ?? ''),
  };
}

const dayOf = (capture: Capture | undefined): string | null => capture?.taken?.wall.slice(0, 10) ?? null;

const lastDay = (captures: readonly Capture[]): string | null =>
  captures.reduce<string | null>((last, capture) => {
    const day = dayOf(capture);
    return day !== null && (last === null || day > last) ? day : last;
  }, null);

type Look = {
  readonly left: WallEvidence;
  readonly right: WallEvidence;
  readonly capture: Capture;
  readonly day: string | null;
};

const wallOfPair = (flat: FlatPair): WallEvidence => ({
  value: flat.laterUm.value,
  expanded: flat.laterUm.expanded,
  detected: flat.detected,
  detectionLimit: flat.detectionLimitUm,
});
const wallOfSingle = (flat: FlatSingle): WallEvidence => ({
  value: flat.widthUm.value,
  expanded: flat.widthUm.expanded,
  detected: flat.detected,
  detectionLimit: flat.detectionLimitUm,
});

/** The newest front view on which both flats were measured in micrometres: from a pair, else from the picture alone. */
function lookOf(page: StylusPage): Look | null {
  for (const capture of page.captures.toReversed()) {
    const look = capture.view === 'front' ? lookAt(page, capture) : null;
    if (look !== null) return look;
  }
  return null;
}

/** A picture that was tried and refused tells nothing, but nobody need be sent back to it. */
function newerThan({ captures, comparisons }: StylusPage, look: Look | null): string | null {
  const newest = captures.findLast((capture) => capture.view === 'front');
  const day = dayOf(newest);
  if (look === null || newest === undefined || day === null || newest.id === look.capture.id) return null;
  const tried = newest.examination !== null || comparisons.some(({ laterId }) => laterId === newest.id);
  return tried || day < (look.day ?? '') ? null : day;
}

function lookAt(page: StylusPage, capture: Capture): Look | null {
  const day = dayOf(capture);
  const pair = page.comparisons.findLast(
    ({ laterId, report }) => laterId === capture.id && report.ok && (report.unit ?? 'um') === 'um',
  );
  if (pair?.report.ok) {
    const { left, right } = pair.report.flats;
    return { left: wallOfPair(left), right: wallOfPair(right), capture, day };
  }
  const single = capture.examination;
  if (!single?.ok || single.flats === undefined || (single.unit ?? 'um') !== 'um') return null;
  const { left, right } = single.flats;
  return { left: wallOfSingle(left), right: wallOfSingle(right), capture, day };
}

/** Hours at which the wall that gets there first may reach the person's own limit, by the fitted law. */
function limitHours({ left, right }: WearCourse): Evidence['limitHours'] {
  const reached = [left, right].flatMap((wall) => {
    const hours = wall?.limit?.hours;
    return hours === undefined || hours.low === null
      ? []
      : [{ low: hours.low, high: hours.high ?? Infinity }];
  });
  return reached.length === 0 ? null : reached.reduce((a, b) => (b.low < a.low ? b : a));
}

/** What the program suspected in the newest results, as far as nobody rejected it. */
function suspectedIn(page: StylusPage, kinds: readonly string[], marks: readonly Mark[]): boolean {
  if (marks.some((mark) => kinds.includes(mark.kind) && mark.state === 'suspected')) return true;
  // Somebody who looked at the newest suspicion and rejected or confirmed it has answered.
  if (marks.some((mark) => kinds.includes(mark.kind) && mark.proposed !== null)) return false;
  return newestReports(page).some(
    (report) => report.ok && report.suspicions.some((suspicion) => kinds.includes(suspicion.kind)),
  );
}

function newestReports(page: StylusPage) {
  const pair = page.comparisons.findLast((one) => one.report.ok);
  const single = page.captures.findLast((capture) => capture.examination?.ok);
  const side = page.captures.findLast((capture) => capture.cantilever?.ok);
  return [pair?.report, single?.examination, side?.cantilever].flatMap((report) => (report ? [report] : []));
}

type Damage = Pick<Evidence, 'chip' | 'bentCantilever' | 'diamond' | 'diamondConfirmed'>;

function damage(page: StylusPage): Damage {
  const { marks } = page;
  const looked = newestReports(page).length > 0 || marks.length > 0;
  const finding = (kinds: readonly string[], seen: boolean): Evidence['chip'] => {
    const own = marks.filter((mark) => kinds.includes(mark.kind));
    if (own.some((mark) => mark.state === 'confirmed')) return 'confirmed';
    if (suspectedIn(page, kinds, marks)) return 'suspected';
    if (own.length > 0) return 'rejected';
    return seen ? 'none' : 'not-looked';
  };
  const side = page.captures.some((capture) => capture.cantilever?.ok);
  const diamond = diamondOf(page, side);
  return {
    // A crack through the tip ends playing as a piece that is gone does.
    chip: finding(['chip', 'crack'], looked),
    bentCantilever: finding(['bent-cantilever'], side),
    ...diamond,
  };
}

function diamondOf(page: StylusPage, side: boolean): Pick<Damage, 'diamond' | 'diamondConfirmed'> {
  const { marks } = page;
  const confirmed = marks.find(
    ({ kind, state }) => state === 'confirmed' && (kind === 'missing-diamond' || kind === 'turned-diamond'),
  );
  if (confirmed)
    return { diamond: confirmed.kind === 'missing-diamond' ? 'missing' : 'turned', diamondConfirmed: true };
  for (const [kinds, state] of [
    [['missing-diamond'], 'missing'],
    [['turned-diamond'], 'turned'],
    [['leaning-diamond'], 'leaning'],
  ] as const)
    if (suspectedIn(page, kinds, marks)) return { diamond: state, diamondConfirmed: false };
  return { diamond: side ? 'sound' : 'not-seen', diamondConfirmed: false };
}

const FATES = { gone: 'none', none: 'none', new: 'seen', stays: 'stays-after-cleaning' } as const;

/** Residue seen, and whether it was still there after a later cleaning: a finding of its own. */
function residueOf(page: StylusPage): Evidence['residue'] {
  const seen = residueDays(page);
  const pair = page.entries.findLast((entry) => entry.cleaned && entry.cleaned.residue !== 'cannot-tell');
  // A pair that was looked at for this says more than days in their order, until a newer picture shows something.
  if (pair?.cleaned && (seen.at(-1) ?? '') <= pair.date)
    return FATES[pair.cleaned.residue as keyof typeof FATES];
  const cleaned = page.entries.filter((entry) => entry.kind === 'cleaning').map((entry) => entry.date);
  const last = seen.at(-1);
  if (last === undefined)
    return newestReports(page).length > 0 || page.marks.length > 0 ? 'none' : 'not-seen';
  // A later picture of the tip without it: it went, however stubborn it was.
  const tips = page.captures.filter((capture) => capture.view === 'front' || capture.view === 'end-on');
  const dayNow = lastDay(tips);
  if (dayNow !== null && dayNow > last) return 'none';
  const stayed = cleaned.some((day) => seen[0] <= day && day <= last && seen[0] < last);
  return stayed ? 'stays-after-cleaning' : 'seen';
}

function residueDays(page: StylusPage): string[] {
  const rejected = new Set(
    page.marks
      .filter((mark) => mark.kind === 'residue' && mark.state === 'rejected')
      .map((mark) => mark.captureId),
  );
  const marked = page.marks
    .filter((mark) => mark.kind === 'residue' && mark.state !== 'rejected')
    .map((mark) => dayOf(page.captures.find((one) => one.id === mark.captureId)) ?? mark.seenOn);
  // By picture, the last answer of each: looked for anew they would be asked about every other picture.
  const answers = new Map(
    page.comparisons.flatMap(({ laterId, report }) => (report.ok ? [[laterId, report] as const] : [])),
  );
  const suspected = page.captures.flatMap((capture) => {
    const reports = [answers.get(capture.id), capture.examination];
    const residue = reports.some(
      (report) => report?.ok && report.suspicions.some((one) => one.kind === 'residue'),
    );
    const day = dayOf(capture);
    return residue && day !== null && !rejected.has(capture.id) ? [day] : [];
  });
  return [...marked, ...suspected].toSorted();
}

/** By the last check that says anything: a whole that cannot be said is worse where a symptom is new or worse. */
function lastVerdict({ entries }: StylusPage): Evidence['listening'] {
  const checks = entries.flatMap(({ listening }) => (listening ? [listening] : []));
  const verdicts = checks.map(({ verdict, heard }) =>
    verdict === 'unsure' && heard.some(({ answer }) => answer === 'new' || answer === 'worse')
      ? 'worse'
      : verdict,
  );
  const last = verdicts.findLast((verdict) => verdict !== 'unsure');
  if (last === undefined) return checks.length === 0 ? 'not-done' : 'unsure';
  return last === 'worse' ? 'worse' : 'same';
}

/** First and newest day of the band that was recorded last, and the newest comparison of a passage. */
function recordedChange({ recordings, passages, comparisons, takes }: ListeningPage): Evidence['recorded'] {
  const nameOf = (passageId: string): string => passages.find((one) => one.id === passageId)?.name ?? '';
  const byDay = takes.toSorted((a, b) => a.recordedOn.localeCompare(b.recordedOn));
  const newest = byDay.at(-1);
  const oldest = byDay.find((one) => one.passageId === newest?.passageId);
  const pair = comparisons.findLast((one) => one.report.ok);
  const about = recordings.find((one) => one.id === pair?.laterId);
  const thd = (take: ToneTake) =>
    take.channels
      .map((channel) => channel.thdPercent)
      .reduce((worst, one) => (one.value > worst.value ? one : worst));
  return {
    thd:
      newest !== undefined && oldest !== undefined && oldest !== newest
        ? { band: nameOf(newest.passageId), earlier: thd(oldest), later: thd(newest) }
        : null,
    above5k:
      pair?.report.ok && about
        ? {
            passage: nameOf(about.passageId),
            changeDb: pair.report.value.channels
              .map((channel) => channel.above5kDb)
              .reduce((most, one) => (one.value < most.value ? one : most)),
          }
        : null,
  };
}

const SET_UP_CAUSES = ['alignment', 'tracking-force', 'anti-skating', 'azimuth'];

/** The day by which the whole set-up was in order: the earliest of the four answers; null while one is open. */
function setUpCheckedOn({ causes }: ListeningPage): string | null {
  const own = causes.filter((one) => SET_UP_CAUSES.includes(one.cause));
  if (own.some((one) => one.date === null || (one.answer !== 'in-order' && one.answer !== 'put-right')))
    return null;
  return own
    .map((one) => one.date ?? '')
    .toSorted()
    .at(0)!;
}
