/** The live screen that is open, for commands and shortcuts; null when none is. */
export type CurrentLive = { readonly take: () => void; readonly freeze: () => void };

let current: CurrentLive | null = null;
export const currentLive = (): CurrentLive | null => current;
export const setCurrentLive = (live: CurrentLive | null): void => {
  current = live;
};
