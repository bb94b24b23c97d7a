import { afterAll, beforeAll, beforeEach, onTestFailed } from 'vitest';
import { type BrowserOptions, openProgram, type Program } from './program.ts';

/**
 * A story's steps share a window and build on each other. After a step that failed the rest fails at once and says
 * why, instead of each waiting for something that will not come. `built`: only these steps are built upon; another one
 * may fail alone.
 */
export function endAtFirstFailure(built: readonly string[] | null = null): void {
  let broken: string | null = null;
  beforeEach(({ task }) => {
    if (broken !== null) throw new Error(`Not tried: the step "${broken}" failed.`);
    onTestFailed(() => {
      if (built === null || built.includes(task.name)) broken ??= task.name;
    });
  });
}

/** A story in one browser window, which is opened before its first step and closed behind its last. */
export function inOneWindow(options: BrowserOptions = {}): Pick<Program, 'page' | 'troubles'> {
  endAtFirstFailure();
  let program: Program;
  beforeAll(async () => {
    program = await openProgram('browser window', options);
  });
  afterAll(async () => {
    await program?.close();
  });
  return {
    get page() {
      return program.page;
    },
    get troubles() {
      return program.troubles;
    },
  };
}
