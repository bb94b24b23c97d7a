import { fileURLToPath } from 'node:url';
import react from '@vitejs/plugin-react';
import { defineConfig, type Plugin } from 'vite';

const project = fileURLToPath(new URL('..', import.meta.url)).replaceAll('\\', '/');
/** Folders of modules that only define things: what nothing uses of them can be left out. */
const DEFINES_ONLY = ['shared/', 'core/'].map((folder) => project + folder);

/**
 * Marks what these modules define as free of side effects, call by call: a window that knows the words for a mark need
 * not build the schemas of everything the host can be asked, which took it longer than drawing its first screen.
 */
function onlyWhatIsUsed(): Plugin {
  return {
    name: 'only-what-is-used',
    enforce: 'post',
    apply: 'build',
    transform(code, id) {
      if (!DEFINES_ONLY.some((folder) => id.startsWith(folder))) return null;
      const made = this.parse(code)
        .body.flatMap((node) => {
          const defined = node.type === 'ExportNamedDeclaration' ? node.declaration : node;
          return defined?.type === 'VariableDeclaration' ? defined.declarations : [];
        })
        .flatMap(({ init }) => (init === null || !MADE_BY_CALLS.has(init.type) ? [] : [init]));
      let marked = code;
      for (const { start, end } of made.toReversed())
        marked = `${marked.slice(0, start)}/* @__PURE__ */ (() => (${marked.slice(start, end)}))()${marked.slice(end)}`;
      return { code: marked, map: null, moduleSideEffects: false };
    },
  };
}
const MADE_BY_CALLS = new Set(['CallExpression', 'ObjectExpression', 'ArrayExpression', 'NewExpression']);

/** The window. Paths are relative, so that the same build serves Electron's own scheme and the loopback server. */
export default defineConfig({
  root: fileURLToPath(new URL('.', import.meta.url)),
  base: './',
  plugins: [react(), onlyWhatIsUsed()],
  build: {
    outDir: fileURLToPath(new URL('../dist/renderer', import.meta.url)),
    emptyOutDir: true,
    target: 'es2023',
    // Inlined pictures and preload helpers would need a weaker content security policy.
    assetsInlineLimit: 0,
    modulePreload: false,
    // Everything comes from this machine, so only what runs before the first screen counts (later-parts.tsx).
    chunkSizeWarningLimit: 2000,
  },
});
