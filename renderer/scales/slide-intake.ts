import { useEffect, useRef, useState } from 'react';
import type { Offered, PictureRef } from '../../shared/index.ts';
import { asRefusal } from '../host.ts';
import { tooLarge } from '../importing/intake.ts';
import { useModel } from '../state/use.ts';

/** One picture on its way to the host, for a dialog: offered when chosen, taken back unless somebody kept it. */
export type OnePicture = {
  readonly ref: PictureRef | null;
  readonly offer: Offered | null;
  readonly reading: boolean;
  readonly problem: string | null;
  readonly take: (file: File) => void;
  readonly leave: () => void;
  /** The host has it in the collection now; nothing is to be taken back. */
  readonly kept: () => void;
};

export function useOnePicture(start: PictureRef | null = null): OnePicture {
  const { host } = useModel();
  const [ref, setRef] = useState<PictureRef | null>(start);
  const [offer, setOffer] = useState<Offered | null>(null);
  const [reading, setReading] = useState(false);
  const [problem, setProblem] = useState<string | null>(null);
  const live = useRef({ token: '', closed: false, turn: 0 });
  const withdraw = (): void => {
    const { token } = live.current;
    live.current.token = '';
    if (token !== '') void host.call('picture.withdraw', { token }).catch(() => undefined);
  };
  useEffect(() => {
    const state = live.current;
    state.closed = false;
    return () => {
      state.closed = true;
      if (state.token !== '')
        void host.call('picture.withdraw', { token: state.token }).catch(() => undefined);
    };
  }, [host]);
  const read = async (file: File): Promise<void> => {
    const turn = ++live.current.turn;
    const large = tooLarge(file);
    if (large !== null) return setProblem(large);
    setProblem(null);
    setReading(true);
    try {
      const bytes = new Uint8Array(await file.arrayBuffer());
      const offered = await host.call('picture.offer', { fileName: file.name, bytes });
      if (live.current.closed || turn !== live.current.turn) {
        await host.call('picture.withdraw', { token: offered.token });
        return undefined;
      }
      withdraw();
      live.current.token = offered.token;
      setOffer(offered);
      setRef({ token: offered.token });
    } catch (error) {
      if (turn === live.current.turn) setProblem(asRefusal(error).message);
    }
    if (turn === live.current.turn) setReading(false);
    return undefined;
  };
  return {
    ref,
    offer,
    reading,
    problem,
    take: (file) => void read(file),
    leave: () => {
      live.current.turn += 1;
      withdraw();
      setOffer(null);
      setRef(null);
      setReading(false);
      setProblem(null);
    },
    kept: () => {
      live.current.token = '';
    },
  };
}
