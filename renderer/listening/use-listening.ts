import { useEffect, useRef, useState } from 'react';
import type { GivenAdvice, ListeningPage, StylusPage } from '../../shared/index.ts';
import { useDaybook, useModel } from '../state/use.ts';

/** What belongs to listening with this stylus; asked again whenever something in the collection changed. */
export function useListening(stylusId: string): ListeningPage | null {
  const { host, attempt } = useModel();
  const [found, setFound] = useState<ListeningPage | null>(null);
  useFresh(
    () => attempt(() => host.call('listening.page', { stylusId })),
    (answer) => setFound(answer),
    [stylusId],
  );
  return found;
}

export function useAdvice(page: StylusPage): GivenAdvice | null {
  const { host, attempt } = useModel();
  const [from, to] = useDaybook((state) => state.settings.practiceHours);
  const [found, setFound] = useState<GivenAdvice | null>(null);
  useFresh(
    () => attempt(() => host.call('advice.of', { stylusId: page.stylus.id, hoursBand: [from, to] })),
    (answer) => setFound(answer),
    [page.stylus.id, from, to],
  );
  return found;
}

/** The shelf's cards are renewed with every change, whatever it was: they are the clock here. */
export function useFresh<T>(
  ask: (keys: string, clock: unknown) => Promise<T | null>,
  keep: (answer: T) => void,
  keys: readonly unknown[],
): void {
  const clock = useDaybook((state) => state.cards);
  const latest = useRef({ ask, keep });
  useEffect(() => {
    latest.current = { ask, keep };
  });
  const key = JSON.stringify(keys);
  useEffect(() => {
    let wanted = true;
    const run = async (): Promise<void> => {
      const answer = await latest.current.ask(key, clock);
      if (wanted && answer !== null) latest.current.keep(answer);
    };
    void run();
    return () => {
      wanted = false;
    };
  }, [clock, key]);
}
