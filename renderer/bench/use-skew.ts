import { useState } from 'react';
import { imageToTip, type Pose } from '../../shared/geometry.ts';
import type { Capture, MarkPoint } from '../../shared/index.ts';
import { pickStore, stopPick } from '../marks/pick.ts';
import { useModel } from '../state/use.ts';
import type { Contour } from './draw.ts';
import { lineOfPoints, lineText, parseLine, type GivenLine } from './skew-line.ts';

export type Skewing = {
  readonly text: string;
  readonly setText: (text: string) => void;
  readonly measure: (line: GivenLine) => Promise<void>;
  /** The typed or set line in the stage's frame, to be drawn; null for an angle, or while there is none. */
  readonly drawn: Contour | null;
  /** Takes points that were set for a skew; false when they were set for something else. */
  readonly onPicked: (points: readonly MarkPoint[]) => boolean;
};

/** The line that a skew is told against, one for field and stage. It is not kept: its skew is, with the report. */
export function useSkew(capture: Capture, pose: Pose): Skewing {
  const { host, run, refresh } = useModel();
  const [text, setText] = useState('');
  const line = parseLine(text);
  const measure = async (given: GivenLine): Promise<void> => {
    await run('Measuring the skew', (jobId) =>
      host.call('capture.cantilever', { id: capture.id, jobId, line: given }),
    );
    await refresh();
  };
  return {
    text,
    setText,
    measure,
    drawn:
      line === null || 'angleDeg' in line
        ? null
        : [line.from, line.to].map(([x, y]) => {
            const at = imageToTip(pose, { x, y });
            return [at.x, at.y] as const;
          }),
    onPicked: (points) => {
      if (pickStore.getState().pick?.purpose !== 'skew') return false;
      stopPick();
      const given = lineOfPoints(points, pose);
      if (given === null) return true;
      setText(lineText(given));
      void measure(given);
      return true;
    },
  };
}
