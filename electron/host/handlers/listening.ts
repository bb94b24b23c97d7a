import { ENGINE_VERSION } from '../../../core/version.ts';
import { MAX_UPLOAD_BYTES, Refusal, passageReportSchema, toneReportSchema } from '../../../shared/index.ts';
import type { HostHandlers, Recording, SoundOffered } from '../../../shared/index.ts';
import { adviceOn } from '../advice.ts';
import { fitAside } from '../wear/course.ts';
import type { Context } from '../context.ts';
import { mustHaveHappened } from '../happened.ts';
import type { PictureSource } from '../engine-protocol.ts';
import { LOOK_LIMIT_MS, plainFileName } from '../incoming.ts';
import type { InspectedSound } from '../sound/jobs.ts';
import {
  addPassage,
  addRecording,
  answerCause,
  listeningPage,
  readPassage,
  readRecording,
  storeSoundComparison,
  storeTone,
  updatePassage,
} from '../store/listening.ts';
import type { Staged } from '../store/originals.ts';
import { readStylus } from '../store/styluses.ts';

type Names =
  | 'listening.page'
  | 'passage.add'
  | 'passage.update'
  | 'cause.answer'
  | 'sound.offer'
  | 'sound.withdraw'
  | 'recording.add'
  | 'recording.measure'
  | 'recording.compare'
  | 'advice.of';

type Waiting = { readonly staged: Staged; readonly sound: InspectedSound; readonly fileName: string };

/** Listening: passages, recordings, what they show, other causes, and the advice that all evidence comes to. */
export function listeningHandlers(context: Context): Pick<HostHandlers, Names> {
  const { db, originals } = context.collection;
  const waiting = new Map<string, Waiting>();
  const changed = (stylusId: string | null) => context.emit('changed', { stylusId });

  async function offer(name: string, bytes: Uint8Array): Promise<SoundOffered> {
    if (bytes.byteLength > MAX_UPLOAD_BYTES)
      throw new Refusal(
        'unreadable-sound',
        `The file is larger than ${MAX_UPLOAD_BYTES / 2 ** 20} MB. Cut out the passage or the test band.`,
      );
    const fileName = plainFileName(name);
    const staged = await originals.stage(bytes);
    try {
      const source = { path: originals.stagedPath(staged.token), sha256: staged.sha256 };
      const seen = await context.pictures.run('sound', { source }, { timeLimitMs: LOOK_LIMIT_MS });
      if (!seen.ok) throw new Refusal('unreadable-sound', seen.reason.message);
      waiting.set(staged.token, { staged, sound: seen.value, fileName });
      const { warnings, ...facts } = seen.value;
      return { token: staged.token, fileName, sha256: staged.sha256, ...facts, warnings: [...warnings] };
    } catch (error) {
      await originals.withdraw(staged.token).catch(() => undefined);
      throw error;
    }
  }

  /** The file first, then the row: whatever happens in between leaves no row without its recording. */
  async function add({ token, ...facts }: Parameters<HostHandlers['recording.add']>[0]): Promise<Recording> {
    readStylus(db, facts.stylusId);
    readPassage(db, facts.passageId);
    mustHaveHappened([facts.recordedOn]);
    const found = waiting.get(token);
    if (found === undefined)
      throw new Refusal('no-such-sound', 'That recording is not waiting to be added. Choose the file again.');
    waiting.delete(token);
    try {
      const { staged, sound, fileName } = found;
      const undo = await originals.adopt(staged, 'audio/wav');
      try {
        const { sampleRate, channelCount, bits, float, seconds } = sound;
        const stored = { fileName, sha256: staged.sha256, byteLength: staged.byteLength };
        const recording = addRecording(db, facts, {
          ...stored,
          sampleRate,
          channelCount,
          bits,
          float,
          seconds,
        });
        await originals.withdraw(token).catch(() => undefined);
        changed(recording.stylusId);
        return recording;
      } catch (error) {
        await undo();
        throw error;
      }
    } catch (error) {
      waiting.set(token, found);
      throw error;
    }
  }

  const sourceOf = (recording: Recording): PictureSource => ({
    path: originals.pathOf(recording.sha256, 'audio/wav'),
    sha256: recording.sha256,
  });
  /** That the program broke down or was too slow says nothing about the recording, and leaves no trace. */
  const worthKeeping = <R extends { ok: true } | { ok: false; reason: { code: string; message: string } }>(
    report: R,
  ): R => {
    if (!report.ok && (report.reason.code === 'failed' || report.reason.code === 'timed-out'))
      throw new Refusal(report.reason.code, report.reason.message);
    return report;
  };

  return {
    'listening.page': async ({ stylusId }) => {
      readStylus(db, stylusId);
      return listeningPage(db, stylusId);
    },
    'passage.add': async (draft) => {
      const passage = addPassage(db, draft);
      changed(null);
      return passage;
    },
    'passage.update': async ({ id, draft }) => {
      const passage = updatePassage(db, id, draft);
      changed(null);
      return passage;
    },
    'cause.answer': async ({ stylusId, ...given }) => {
      readStylus(db, stylusId);
      const answered = answerCause(db, stylusId, given);
      changed(stylusId);
      return answered;
    },
    'sound.offer': ({ fileName, bytes }) => offer(fileName, bytes),
    'sound.withdraw': async ({ token }) => {
      waiting.delete(token);
      await originals.withdraw(token);
      return {};
    },
    'recording.add': add,
    'recording.measure': ({ id, jobId }) =>
      context.jobs.run(jobId, context.timeLimitMs, async (options) => {
        const recording = readRecording(db, id);
        const passage = readPassage(db, recording.passageId);
        if (passage.kind !== 'tone' || passage.toneHz === null)
          throw new Refusal(
            'bad-input',
            'Distortion is measured on a test band. This recording is of a passage: compare it with another one.',
          );
        const { toneHz: nominalHz, cutOn } = passage;
        const job = { source: sourceOf(recording), nominalHz, cutOn };
        const outcome = await context.measuring.run('tone', job, options);
        if (!outcome.ok) throw new Refusal(outcome.reason.code, outcome.reason.message);
        const report = worthKeeping(toneReportSchema.parse(outcome.value));
        const stored = storeTone(db, id, report, ENGINE_VERSION);
        changed(stored.stylusId);
        return stored;
      }),
    'recording.compare': ({ earlierId, laterId, jobId }) =>
      context.jobs.run(jobId, context.timeLimitMs, async (options) => {
        const [earlier, later] = [readRecording(db, earlierId), readRecording(db, laterId)];
        if (earlierId === laterId) throw new Refusal('bad-input', 'Choose two different recordings.');
        if (earlier.stylusId !== later.stylusId || earlier.passageId !== later.passageId)
          throw new Refusal('bad-input', 'Choose two recordings of one passage, made with one stylus.');
        const job = { earlier: sourceOf(earlier), later: sourceOf(later) };
        const outcome = await context.measuring.run('passages', job, options);
        if (!outcome.ok) throw new Refusal(outcome.reason.code, outcome.reason.message);
        const report = worthKeeping(passageReportSchema.parse(outcome.value));
        const pair = { stylusId: earlier.stylusId, earlierId, laterId };
        const stored = storeSoundComparison(db, pair, report, ENGINE_VERSION);
        changed(stored.stylusId);
        return stored;
      }),
    'advice.of': async ({ stylusId, hoursBand }) => {
      await fitAside(context, stylusId);
      return adviceOn(db, stylusId, hoursBand);
    },
  };
}
