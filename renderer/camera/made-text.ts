import type { Made } from '../../shared/index.ts';
import { formatPlain } from '../format.ts';

/** One line about how a live picture was made. */
export function madeText(made: Made): string {
  switch (made.how) {
    case 'frame':
      return 'one frame';
    case 'mean': {
      const { frames, same, moved, bits, noise } = made;
      const grey = (value: number): string => formatPlain(value, 2, '');
      const left = [same > 0 ? `${same} repeated` : '', moved > 0 ? `${moved} moved` : ''].filter(Boolean);
      return (
        `mean of ${frames} frames, noise ${grey(noise.oneFrame)} → ${grey(noise.stored)} grey levels of 255, ${bits} bits` +
        (left.length > 0 ? `; left out: ${left.join(', ')}` : '')
      );
    }
    case 'merge':
      break;
  }
  return `merged from ${made.planes} focal planes, laid over each other to ${formatPlain(made.alignmentPx, 2, 'px')}`;
}
