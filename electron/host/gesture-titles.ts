import type { InputOf, MarkState, MethodName } from '../../shared/index.ts';

/** What a step of undo is called, in the words of the screens. */
const TITLES: Partial<Record<MethodName, string>> = {
  'scale.keep': 'new scale card',
  'scale.change': 'edit of a scale card',
  'stylus.create': 'new stylus',
  'stylus.update': 'edit of a stylus',
  'stylus.retire': 'retiring a stylus',
  'capture.add': 'adding pictures',
  'capture.addAll': 'adding pictures',
  'capture.update': 'edit of a picture',
  'capture.examine': 'examining a picture',
  'capture.cantilever': 'measuring a cantilever',
  'cleaning.judge': 'looking at a cleaning',
  'comparison.run': 'measuring a pair',
  'study.create': 'new repeatability study',
  'study.choose': 'choice of a repeatability study',
  'study.redo': 'measuring again with a repeatability study',
  'entry.add': 'new entry',
  'entry.update': 'edit of an entry',
  'habit.add': 'new habit',
  'habit.update': 'edit of a habit',
  'plays.import': 'bringing in a play list',
  'mark.add': 'new mark',
  'mark.update': 'edit of a mark',
  'passage.add': 'new passage',
  'passage.update': 'edit of a passage',
  'cause.answer': 'answer about another cause',
  'recording.add': 'adding a recording',
  'recording.measure': 'measuring a recording',
  'recording.compare': 'comparing two recordings',
  'offer.create': 'new turntable on offer',
  'offer.update': 'edit of a turntable on offer',
  'bin.put': 'into the bin',
  'bin.takeBack': 'out of the bin',
  'demo.remove': 'removing the demo',
  'demo.add': 'bringing back the demo',
};

/** Answering what the program suspects makes a mark, too, but nobody has drawn one. */
const ANSWERS: Readonly<Record<MarkState, string>> = {
  suspected: 'keeping a suspicion',
  confirmed: 'confirming a suspicion',
  rejected: 'rejecting a suspicion',
};

/** `input` is the call's own, read by the method's schema. */
export function titleOf(method: MethodName, input: unknown): string {
  if (method === 'mark.add') {
    const { draft } = input as InputOf<'mark.add'>;
    if (draft.proposed !== null) return ANSWERS[draft.state];
  }
  return TITLES[method] ?? 'a change';
}
