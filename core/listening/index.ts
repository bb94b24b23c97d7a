export { measureTone, type Listening, type Sound, type ToneQuestion } from './tone.ts';
export { comparePassages, type PassageQuestion } from './passage.ts';
export { takesOf } from './takes.ts';
