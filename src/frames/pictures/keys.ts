/** Names of streams, small enough to be posted: the key without its columns. */
import type { StreamKey } from '../table.ts';

export const keyOf = ({ bus, id, extended, direction }: StreamKey): StreamKey => ({ bus, id, extended, direction });
