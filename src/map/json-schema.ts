/** The map's JSON Schema (draft 2020-12), made from the one definition in `schema.ts`. */
import { z } from 'zod';
import { signalMapSchema } from './schema.ts';

export function mapJsonSchema(): Record<string, unknown> {
  const { $schema, ...rest } = z.toJSONSchema(signalMapSchema, { target: 'draft-2020-12' });
  return {
    $schema,
    $id: 'urn:loomscribe:signal-map:1',
    title: 'Loomscribe signal map, version 1',
    description: 'Keys that this schema does not name are allowed at every level, and readers keep them.',
    ...rest,
  };
}
