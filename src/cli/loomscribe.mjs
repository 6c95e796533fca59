#!/usr/bin/env node
/** The `loomscribe` command: runs the bundle of the sources, made anew where they changed; else the sources as they are. */
import { pathToFileURL } from 'node:url';
import { bundledMain } from './bundle.mjs';

async function load() {
  const bundle = await bundledMain();
  if (bundle) return import(pathToFileURL(bundle).href);
  const { register } = await import('tsx/esm/api');
  register();
  return import('./main.ts');
}

const { main } = await load();
process.exitCode = await main(process.argv.slice(2));
