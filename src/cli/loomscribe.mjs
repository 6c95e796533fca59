#!/usr/bin/env node
/** The `loomscribe` command: loads the TypeScript sources as they are and hands over. */
import { register } from 'tsx/esm/api';

register();
const { main } = await import('./main.ts');
process.exitCode = await main(process.argv.slice(2));
