const PATHS = {
  close: 'M4 4l8 8M12 4l-8 8',
  plus: 'M8 3v10M3 8h10',
  back: 'M10 3L5 8l5 5',
  picture: 'M2.5 3.5h11v9h-11zM2.5 10.5l3-3 3 3 2-2 3 3',
  camera: 'M2.5 5.5h2.5l1-2h4l1 2h2.5v7h-11zM8 6.6a2.3 2.3 0 100 4.6 2.3 2.3 0 000-4.6z',
  compare: 'M2.5 3.5h7v7h-7zM6.5 6.5h7v7h-7z',
  clock: 'M8 2.5a5.5 5.5 0 100 11 5.5 5.5 0 000-11zM8 5v3l2 1.5',
  brush: 'M9 7l4-4M4 9l3 3-1.5 1.5H2.5V11zM5 8l3 3 2-2-3-3z',
  ear: 'M5 6a3 3 0 016 0c0 2-2.5 2.5-2.5 4.5S5.5 13 5.5 10.5M7 6.5a1 1 0 012 0',
  tool: 'M3 13l5-5M8 8a3 3 0 014-4l-2 2 1 1 2-2a3 3 0 01-4 4z',
  note: 'M3.5 2.5h9v11h-9zM5.5 5.5h5M5.5 8h5M5.5 10.5h3',
  flag: 'M4 13.5v-11h8l-2 3 2 3H4',
  swap: 'M3 5.5h9l-2.5-2.5M13 10.5H4l2.5 2.5',
  sheet: 'M4 2.5h5.5L12.5 5.5v8h-8.5zM9 2.5V6h3.5M6 8.5h4M6 11h4',
  search: 'M7 3a4 4 0 100 8 4 4 0 000-8zM10 10l3.5 3.5',
  help: 'M8 2.5a5.5 5.5 0 100 11 5.5 5.5 0 000-11zM6.2 6.5a1.8 1.8 0 113 1.3c-.8.6-1.2.9-1.2 1.7M8 11.4v.2',
  gear: 'M3 5h6M12 5h1M3 11h1M7 11h6M10.5 3.5v3M5.5 9.5v3',
  ruler: 'M2.5 5.5h11v5h-11zM5 5.5v2.5M7.5 5.5v2M10 5.5v2.5M12 5.5v2',
  warn: 'M8 2.5L14 13H2zM8 6.5v3M8 11.2v.3',
  bin: 'M3 4.5h10M6.5 4.5v-2h3v2M4.5 4.5l.5 9h6l.5-9',
  edit: 'M3 13l.7-3L11 2.7l2.3 2.3L6 12.3z',
  mark: 'M8 2.5a5 5 0 100 10 5 5 0 000-10zM8 5v5M5.5 7.5h5',
  keep: 'M3 4.5h10v3.5c0 3-2.2 4.7-5 5.7-2.8-1-5-2.7-5-5.7zM5.8 8.2l1.6 1.6 2.9-3',
  undo: 'M6 3L3 6l3 3M3 6h6a3.5 3.5 0 010 7H6',
} as const;
export type IconName = keyof typeof PATHS;

/** Decoration only: the word beside it or the label of its button carries the meaning. */
export function Icon({ name }: { readonly name: IconName }) {
  return (
    <svg className="icon" viewBox="0 0 16 16" width="16" height="16" aria-hidden="true" focusable="false">
      <path
        d={PATHS[name]}
        fill="none"
        stroke="currentColor"
        strokeWidth="1.4"
        strokeLinecap="round"
        strokeLinejoin="round"
      />
    </svg>
  );
}
