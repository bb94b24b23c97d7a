import { useEffect } from 'react';
import { useStore } from 'zustand';
import { benchStore, MOST_TURNS_PER_SECOND } from './bench-state.ts';

/** Whether the person asked the system for less motion. */
export const prefersCalm = (): boolean =>
  typeof matchMedia === 'function' && matchMedia('(prefers-reduced-motion: reduce)').matches;

/** Shows one picture, then the other, for as long as that way of looking runs. */
export function useTurning(): void {
  const running = useStore(benchStore, (state) => state.turning && state.way === 'turns');
  const perSecond = useStore(benchStore, (state) => state.turnsPerSecond);
  useEffect(() => {
    if (!running) return undefined;
    const period = 1000 / Math.min(MOST_TURNS_PER_SECOND, Math.max(0.2, perSecond));
    const timer = setInterval(
      () => benchStore.setState((state) => ({ showsLater: !state.showsLater })),
      period,
    );
    return () => clearInterval(timer);
  }, [running, perSecond]);
}
