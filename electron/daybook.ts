/** The command line, called by daybook.mjs after it made sure of the build. */
export { runDaybook } from './daybook/run.ts';
