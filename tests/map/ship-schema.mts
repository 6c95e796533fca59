/** Writes docs/signal-map.schema.json anew from the schema's source: `npx tsx tests/map/ship-schema.mts`. */
import { writeFileSync } from 'node:fs';
import { mapJsonSchema } from '../../src/map/json-schema.ts';
import { printJson } from '../../src/map/print.ts';

writeFileSync(new URL('../../docs/signal-map.schema.json', import.meta.url), printJson(mapJsonSchema()));
