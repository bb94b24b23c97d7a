import { useEffect } from 'react';

/**
 * What the screen with the stage can do at the moment, for the command list: those acts need what only the mounted
 * screen knows (the size of the stage, the picture on it).
 */
export type StageActs = {
  readonly fitTip: (() => void) | null;
  readonly whole: () => void;
  readonly actual: () => void;
  readonly typeMark: () => void;
  readonly byHand: (() => void) | null;
  readonly savePicture: (() => void) | null;
  readonly saveProfileCsv: (() => void) | null;
  readonly saveProfileSvg: (() => void) | null;
};

let mounted: StageActs | null = null;

export const stageActs = (): StageActs | null => mounted;

export function useStageActs(acts: StageActs): void {
  useEffect(() => {
    mounted = acts;
    return () => {
      if (mounted === acts) mounted = null;
    };
  });
}
