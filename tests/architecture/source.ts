import { readdirSync, readFileSync } from 'node:fs';
import { isBuiltin } from 'node:module';
import { join, posix } from 'node:path';
import { fileURLToPath } from 'node:url';
import { parseSync } from 'vite';

/** Reading the project's own source: which files there are, what they import, which free names they use. */

export const ROOT = fileURLToPath(new URL('../..', import.meta.url));
const NOT_OURS = new Set(['node_modules', 'dist', 'coverage', 'changed', '.git', '.cache']);

/** Every file of the project, as a path from its root with forward slashes; build results left out. */
export function projectFiles(folder = ''): string[] {
  return readdirSync(join(ROOT, folder), { withFileTypes: true }).flatMap((entry) => {
    if (NOT_OURS.has(entry.name)) return [];
    const path = posix.join(folder, entry.name);
    return entry.isDirectory() ? projectFiles(path) : [path];
  });
}

export const isCode = (path: string): boolean =>
  /\.(ts|tsx|mts|cts|mjs|cjs|js)$/.test(path) && !path.endsWith('.d.ts');
export const readProjectFile = (path: string): string => readFileSync(join(ROOT, path), 'utf8');

export type Import =
  | { readonly kind: 'project'; readonly path: string; readonly line: number }
  | { readonly kind: 'package'; readonly name: string; readonly line: number; readonly names: string[] }
  | { readonly kind: 'node'; readonly name: string; readonly line: number; readonly names: string[] }
  | { readonly kind: 'unknown'; readonly line: number };

export type FreeName = { readonly name: string; readonly line: number };
export type Source = {
  readonly path: string;
  readonly imports: readonly Import[];
  /** Names used as values that the file neither declares nor imports. */
  readonly freeNames: readonly FreeName[];
  /** `object.property` pairs and `new Date()`-like calls, as written. */
  readonly uses: readonly FreeName[];
};

type Node = { type: string; start: number; end: number; [key: string]: unknown };
const isNode = (value: unknown): value is Node =>
  typeof value === 'object' && value !== null && typeof (value as Node).type === 'string';

/** Type positions hold no run-time code, except for the expression inside these. */
const TYPED_EXPRESSIONS = new Set([
  'TSAsExpression',
  'TSSatisfiesExpression',
  'TSNonNullExpression',
  'TSTypeAssertion',
  'TSInstantiationExpression',
]);

function children(node: Node): Node[] {
  if (TYPED_EXPRESSIONS.has(node.type)) return isNode(node['expression']) ? [node['expression']] : [];
  if (node.type.startsWith('TS')) return [];
  const skip = new Set<string>();
  // A name after a dot, or before a colon, is no reference of its own.
  if (node.type === 'MemberExpression' && !node['computed']) skip.add('property');
  if (/^(Property|MethodDefinition|PropertyDefinition)$/.test(node.type) && !node['computed'])
    skip.add('key');
  if (/^(LabeledStatement|BreakStatement|ContinueStatement)$/.test(node.type)) skip.add('label');
  return Object.entries(node).flatMap(([key, value]) =>
    skip.has(key) ? [] : Array.isArray(value) ? value.filter(isNode) : isNode(value) ? [value] : [],
  );
}

/** The names that a pattern binds: x, {a, b: c}, [d = 1], ...e. */
function boundNames(pattern: unknown): string[] {
  if (!isNode(pattern)) return [];
  if (pattern.type === 'Identifier') return [pattern['name'] as string];
  if (pattern.type === 'AssignmentPattern') return boundNames(pattern['left']);
  if (pattern.type === 'RestElement') return boundNames(pattern['argument']);
  if (pattern.type === 'ArrayPattern') return (pattern['elements'] as unknown[]).flatMap(boundNames);
  if (pattern.type === 'ObjectPattern')
    return (pattern['properties'] as Node[]).flatMap((p) =>
      boundNames(p.type === 'RestElement' ? p : p['value']),
    );
  return [];
}

function declaredBy(node: Node): string[] {
  if (node.type === 'VariableDeclarator') return boundNames(node['id']);
  if (node.type === 'CatchClause') return boundNames(node['param']);
  if (/^(FunctionDeclaration|FunctionExpression|ArrowFunctionExpression)$/.test(node.type))
    return [...boundNames(node['id']), ...(node['params'] as unknown[]).flatMap(boundNames)];
  if (node.type.startsWith('Class')) return boundNames(node['id']);
  if (/^Import.*Specifier$/.test(node.type)) return boundNames(node['local']);
  return [];
}

function walk(node: Node, visit: (node: Node) => void): void {
  visit(node);
  for (const child of children(node)) walk(child, visit);
}

function resolveImport(from: string, request: string, line: number, names: string[]): Import {
  const bare = request.replace(/[?#].*$/, '');
  if (bare.startsWith('.'))
    return { kind: 'project', path: posix.normalize(posix.join(posix.dirname(from), bare)), line };
  if (isBuiltin(bare)) return { kind: 'node', name: bare.replace(/^node:/, ''), line, names };
  const name = bare
    .split('/')
    .slice(0, bare.startsWith('@') ? 2 : 1)
    .join('/');
  return { kind: 'package', name, line, names };
}

const literal = (node: unknown): string | null =>
  isNode(node) && node.type === 'Literal' && typeof node['value'] === 'string' ? node['value'] : null;

/** Reads one file with the builder's own parser. Throws when the file cannot be parsed. */
export function readSource(path: string, text: string): Source {
  const parsed = parseSync(path, text);
  if (parsed.errors.length > 0) throw new Error(`${path}: ${parsed.errors[0]?.message}`);
  const lineOf = (offset: number): number => text.slice(0, offset).split('\n').length;
  const imports: Import[] = [];
  for (const item of parsed.module.staticImports)
    imports.push(
      resolveImport(
        path,
        item.moduleRequest.value,
        lineOf(item.start),
        item.entries.map((entry) => entry.importName.name ?? '*'),
      ),
    );
  for (const item of parsed.module.staticExports)
    for (const entry of item.entries)
      if (entry.moduleRequest)
        imports.push(
          resolveImport(path, entry.moduleRequest.value, lineOf(item.start), [entry.importName.name ?? '*']),
        );

  const declared = new Set<string>();
  const references: FreeName[] = [];
  const uses: FreeName[] = [];
  walk(parsed.program as unknown as Node, (node) => {
    for (const name of declaredBy(node)) declared.add(name);
    const line = lineOf(node.start);
    const named = (request: string | null): void => {
      imports.push(request === null ? { kind: 'unknown', line } : resolveImport(path, request, line, ['*']));
    };
    if (node.type === 'Identifier') references.push({ name: node['name'] as string, line });
    if (node.type === 'ImportExpression') named(literal(node['source']));
    if (node.type === 'MetaProperty') uses.push({ name: 'import.meta', line });
    if (node.type === 'MemberExpression' || node.type === 'NewExpression' || node.type === 'CallExpression')
      uses.push({ name: text.slice(node.start, Math.min(node.end, node.start + 200)), line });
    const callee = node['callee'];
    if (node.type === 'CallExpression' && isNode(callee) && callee['name'] === 'require')
      named(literal((node['arguments'] as unknown[])[0]));
  });
  return { path, imports, freeNames: references.filter((r) => !declared.has(r.name)), uses };
}
