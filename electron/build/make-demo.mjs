import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { pathToFileURL } from 'node:url';

/** Writes the demo collection's rows and pictures into a folder: make-demo.mjs <built fixtures module> <folder>. */
const [module, folder] = process.argv.slice(2);
const { demoCollection, renderDemoCapture } = await import(pathToFileURL(module).href);
const demo = demoCollection();
writeFileSync(join(folder, 'demo.json'), JSON.stringify(demo, null, 2));
console.error(Object.keys(demo), typeof renderDemoCapture);
