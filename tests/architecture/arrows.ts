/**
 * The allowed arrows, as data. Which rule holds for a file: the one with the longest matching `under`.
 * When the test fires, move the code; a new line here needs a reason in DEVELOPERS.md.
 */
export type Arrow = {
  /** Folder (ends with a slash) or single file the rule is about. */
  readonly under: string;
  /** Project folders or files that may be imported, besides files under the same rule. */
  readonly project: readonly string[];
  /** Packages that may be imported; 'any' leaves only the reserved ones below. */
  readonly packages: readonly string[] | 'any';
  /** Built-in modules of Node: all, none, or all but the named ones. */
  readonly node: 'all' | 'none' | { readonly allBut: readonly string[] };
};

/** Pure core helpers that the window may use; each is data in, data out and small enough for a page. */
export const CORE_FOR_RENDERER: readonly string[] = [
  // Value and uncertainty are rounded together (GUM 7.2.6): on screen by the same rule as on paper.
  'core/uncertainty/rounding.ts',
  // What the lines of a budget add up to is shown under them by the rule that made U of them.
  'core/uncertainty/budget.ts',
  // What changed between two measured bends: two numbers and their uncertainties, the same in window and sheet.
  'core/cantilever/change.ts',
  // Hours on a stylus are summed by the same rule on the machine's side, on screen and on paper.
  'core/wear/playing-time.ts',
  'core/wear/groove.ts',
  // What is read off a live frame: a round trip of every frame to the host would cost more than the reading.
  'core/live/',
  'core/stack/',
  // How far the chart of wear reaches is one rule for window and sheet.
  'core/wear/hours-axis.ts',
  // Which measured widths are points of the wear law is decided once, for the chart and for the fit.
  'core/wear/flat-points.ts',
  // Whether a scale still holds is said in the window by the rule that the host keeps to.
  'core/calibration/carried-over.ts',
  // Which of the known styluses a file's name speaks of: the names are in the window, the files too.
  'core/guess/file-name.ts',
];

/** Pure geometry of the core that the fixtures may use. */
export const CORE_FOR_FIXTURES: readonly string[] = ['core/tip/'];

export const ARROWS: readonly Arrow[] = [
  { under: 'shared/', project: [], packages: ['zod'], node: 'none' },
  { under: 'core/', project: ['shared/'], packages: [], node: 'none' },
  { under: 'core/cv/', project: ['core/', 'shared/'], packages: ['opencv-wasm'], node: 'none' },
  // Fourier transforms of millions of samples: a small pure library with no dependencies and no side effects.
  { under: 'core/listening/', project: ['core/', 'shared/'], packages: ['fft.js'], node: 'none' },
  { under: 'electron/', project: ['shared/', 'core/'], packages: 'any', node: 'all' },
  {
    under: 'electron/host/',
    project: ['shared/', 'core/'],
    packages: 'any',
    node: { allBut: ['http', 'https', 'http2', 'net', 'tls'] },
  },
  {
    under: 'renderer/',
    project: ['shared/', ...CORE_FOR_RENDERER],
    // zod comes with the contract; the window checks with it what the host tells of its own accord.
    packages: [
      'react',
      'react-dom',
      'zustand',
      'radix-ui',
      'd3-scale',
      'd3-shape',
      '@tanstack/react-virtual',
      'zod',
    ],
    node: 'none',
  },
  { under: 'fixtures/', project: ['shared/', ...CORE_FOR_FIXTURES], packages: ['sharp'], node: 'all' },
  {
    under: 'tests/',
    project: ['shared/', 'core/', 'electron/', 'renderer/', 'fixtures/'],
    packages: 'any',
    node: 'all',
  },
];

/** Build settings run in the builder, not in the layer that they stand in. */
export const BUILD_SETTINGS = /(^|\/)vite(\.[a-z]+)*\.config\.(ts|mjs)$/;

/** Packages with one home. Tests may reach them too, to check them from outside. */
export const RESERVED: readonly { readonly name: string; readonly homes: readonly string[] }[] = [
  // Types are shipped as source and the module installs process-wide handlers: one place has to know.
  { name: 'opencv-wasm', homes: ['core/cv/'] },
  // Importing it from plain Node starts a download, so the part shared with the browser window must not.
  { name: 'electron', homes: ['electron/main.ts', 'electron/preload.ts', 'electron/shell/'] },
  { name: '@photostructure/sqlite', homes: ['electron/host/'] },
  { name: 'sharp', homes: ['electron/', 'fixtures/'] },
];

/** The one file through which the window reaches the host. */
export const RENDERER_HOST_FILE = 'renderer/host.ts';

/** Names that carry a page to the machine's side; in the renderer they may occur in the file above only. */
export const HOST_REACHING_NAMES: readonly string[] = [
  'fetch',
  'hostApi',
  'EventSource',
  'WebSocket',
  'XMLHttpRequest',
];

/** Globals that would make the core depend on machine, clock, network or page. */
export const IMPURE_GLOBALS: readonly string[] = [
  'process',
  'Buffer',
  'require',
  'console',
  'globalThis',
  'self',
  'window',
  'document',
  'navigator',
  'location',
  'localStorage',
  'sessionStorage',
  'indexedDB',
  'fetch',
  'XMLHttpRequest',
  'WebSocket',
  'EventSource',
  'Worker',
  'postMessage',
  'Image',
  'ImageData',
  'OffscreenCanvas',
  'createImageBitmap',
  'setTimeout',
  'setInterval',
  'setImmediate',
  'requestAnimationFrame',
  'performance',
  'crypto',
];

export const TOP_LEVEL: readonly string[] = [
  'README.md',
  'DEVELOPERS.md',
  'LICENSE',
  'package.json',
  'package-lock.json',
  'tsconfig.json',
  'core',
  'electron',
  'fixtures',
  'renderer',
  'shared',
  'tests',
];

/** A longer file says why, within its first 15 lines, in a sentence that begins with these words. */
export const LONG_FILE_LINES = 400;
export const LONG_FILE_REASON = 'Over 400 lines because';

/**
 * Files that open a database and may still use these functions of `fs`, each for another file than the live database.
 */
export const DATABASE_FS: Readonly<Record<string, readonly string[]>> = {
  // A finished copy made by VACUUM INTO is opened once, to have it written through to the disk.
  'electron/host/store/database.ts': ['open'],
  // Who holds the lock stands in owner.json beside it.
  'electron/host/store/lock.ts': ['readFileSync'],
};
