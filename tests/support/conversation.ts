/** The one conversation of a capture written in a test. */
import { expect } from 'vitest';
import { findConversations, type Conversation } from '../../src/reference/diagnostics/exchanges.ts';
import { tableOfLines, type LogLine } from './log-table.ts';

export async function onlyConversation(lines: readonly LogLine[]): Promise<Conversation> {
  const found = findConversations(await tableOfLines(lines));
  expect(found).toHaveLength(1);
  return found[0] as Conversation;
}
