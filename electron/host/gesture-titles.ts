import type { MethodName } from '../../shared/index.ts';

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

export const titleOf = (method: MethodName): string => TITLES[method] ?? 'a change';
