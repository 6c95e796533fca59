/** The map's JSON Schema (draft 2020-12), made from the one definition in `schema.ts`, with a word on what its keys mean. */
import { z } from 'zod';
import { invariant } from '../kit/outcome.ts';
import { signalMapSchema } from './schema.ts';
import { SCHEMA_WORDS } from './schema-words.ts';

type Node = Record<string, unknown>;

const isNode = (value: unknown): value is Node => typeof value === 'object' && value !== null && !Array.isArray(value);

/** The node of a key, through "or null" and through lists. */
function below(node: Node, key: string): Node | null {
  const choices = Array.isArray(node['anyOf']) ? (node['anyOf'] as unknown[]) : [];
  for (const choice of [node, ...choices]) {
    if (!isNode(choice)) continue;
    const found = key === '[]' ? choice['items'] : isNode(choice['properties']) ? choice['properties'][key] : undefined;
    if (isNode(found)) return found;
  }
  return null;
}

/** path: keys with dots between, "[]" for the entries of a list. */
function describe(schema: Node, path: string, words: string): void {
  const keys = path.replaceAll('[]', '.[]').split('.');
  const node = keys.reduce<Node | null>((at, key) => at && below(at, key), schema);
  invariant(node !== null, `the schema of the map has no ${path}`);
  node['description'] = words;
}

export function mapJsonSchema(): Record<string, unknown> {
  const { $schema, ...rest } = z.toJSONSchema(signalMapSchema, { target: 'draft-2020-12' });
  const schema = {
    $schema,
    $id: 'urn:loomscribe:signal-map:1',
    title: 'Loomscribe signal map, version 1',
    description: 'Keys that this schema does not name are allowed at every level, and readers keep them.',
    ...rest,
  };
  for (const [path, words] of Object.entries(SCHEMA_WORDS)) describe(schema, path, words);
  return schema;
}
