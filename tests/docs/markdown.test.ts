/**
 * Docs are run: each relative link, each path in code marks, and each `npm run` or `loomscribe VERB` that a Markdown
 * file of the project names must exist.
 */
import { existsSync, readdirSync, readFileSync } from 'node:fs';
import { dirname, join, relative } from 'node:path';
import { fileURLToPath } from 'node:url';
import { describe, expect, it } from 'vitest';
import { VERBS } from '../../src/cli/verbs/index.ts';

const ROOT = fileURLToPath(new URL('../../', import.meta.url));
const LEFT_OUT = new Set(['node_modules', 'dist', 'coverage', '.git', 'fixtures', 'pictures']);

function markdownFiles(folder: string): string[] {
  return readdirSync(folder, { withFileTypes: true }).flatMap((entry) => {
    if (LEFT_OUT.has(entry.name)) return [];
    const path = join(folder, entry.name);
    if (entry.isDirectory()) return markdownFiles(path);
    return entry.name.endsWith('.md') ? [path] : [];
  });
}

const manifest = JSON.parse(readFileSync(join(ROOT, 'package.json'), 'utf8')) as { scripts: Record<string, string> };
const verbNames = new Set(VERBS.map((verb) => verb.name));
const TOP_FOLDERS = /^(src|workers|tests|fixtures|docs|\.ci)\/[\w./*-]*$/;

const matches = (text: string, pattern: RegExp): string[] =>
  [...text.matchAll(pattern)].map((match) => match[1] as string);

function missingLinks(file: string, text: string): string[] {
  return matches(text, /\]\(([^)#\s]+)(?:#[^)]*)?\)/g)
    .filter((target) => !/^[a-z]+:/.test(target))
    .filter((target) => !existsSync(join(dirname(file), target)));
}

function missingPaths(text: string): string[] {
  return matches(text, /`([^`\s]+)`/g)
    .filter((target) => TOP_FOLDERS.test(target) && !target.includes('*'))
    .filter((target) => !existsSync(join(ROOT, target)));
}

function unknownCommands(text: string): string[] {
  const scripts = matches(text, /npm run ([\w:-]+)/g).filter((name) => !(name in manifest.scripts));
  const verbs = matches(text, /(?:`|npx |^ {4}|\n)loomscribe ([a-z]+)\b/g).filter((name) => !verbNames.has(name));
  return [...scripts, ...verbs];
}

describe.each(markdownFiles(ROOT).map((file) => [relative(ROOT, file), file] as const))('%s', (_name, file) => {
  const text = readFileSync(file, 'utf8');
  it('names only what exists', () => {
    expect({ links: missingLinks(file, text), paths: missingPaths(text), commands: unknownCommands(text) }).toEqual({
      links: [],
      paths: [],
      commands: [],
    });
  });
});
