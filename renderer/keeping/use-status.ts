import { useCallback, useEffect, useState } from 'react';
import type { BinItem, KeepingStatus } from '../../shared/index.ts';
import { asRefusal } from '../host.ts';
import { useDaybook, useModel } from '../state/use.ts';

type Loaded<T> = { readonly value: T | null; readonly wrong: string | null; readonly reload: () => void };

/** Asks once and again whenever something in the collection has changed. */
function useAsked<T>(ask: () => Promise<T>): Loaded<T> {
  const info = useDaybook((state) => state.info);
  const [value, setValue] = useState<T | null>(null);
  const [wrong, setWrong] = useState<string | null>(null);
  const [times, setTimes] = useState(0);
  useEffect(() => {
    // Each of the two says that what was asked before may be out of date.
    if (info === null || times < 0) return undefined;
    let shown = true;
    ask().then(
      (answer) => {
        if (!shown) return undefined;
        setValue(answer);
        setWrong(null);
        return undefined;
      },
      (error: unknown) => shown && setWrong(asRefusal(error).message),
    );
    return () => {
      shown = false;
    };
  }, [ask, info, times]);
  const reload = useCallback(() => setTimes((before) => before + 1), []);
  return { value, wrong, reload };
}

export function useKeepingStatus(): Loaded<KeepingStatus> {
  const { host } = useModel();
  return useAsked(useCallback(() => host.call('keeping.status', {}), [host]));
}

export function useBin(): Loaded<BinItem[]> {
  const { host } = useModel();
  return useAsked(useCallback(() => host.call('bin.list', {}), [host]));
}
