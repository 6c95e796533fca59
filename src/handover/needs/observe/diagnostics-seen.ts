/** What a tester's questions in a capture say of partners: codes of lost communication, and modules that were unlocked. */
import type { FrameTable } from '../../../frames/table.ts';
import { formatId } from '../../../kit/units.ts';
import { findConversations, type Conversation } from '../../../reference/diagnostics/exchanges.ts';
import { readingsOf } from '../../../reference/diagnostics/readings.ts';
import type { FrameKey } from '../types.ts';
import type { LostCode, SeenUnlock } from './types.ts';

/** Security access of ISO 14229-1: odd sub-functions ask for a seed, even ones send the key. */
const SECURITY_ACCESS = 0x27;

export interface DiagnosticsSeen {
  readonly lostCodes: readonly LostCode[];
  readonly askedForFaults: readonly FrameKey[];
  readonly unlocks: readonly SeenUnlock[];
}

interface Answered {
  readonly lost: readonly LostCode[];
  readonly asked: FrameKey;
}

const answersOf = (conversation: Conversation): Answered[] =>
  readingsOf(conversation).faults.map(({ bus, id, extended, atUs, codes }) => {
    const asked = { bus, id: formatId(id), extended };
    const lost = codes.filter(({ isLostCommunication }) => isLostCommunication);
    return {
      asked,
      lost: lost.map(({ code, isFailing, isConfirmed }) => ({
        ...asked,
        code,
        isFailing,
        isConfirmed,
        atS: atUs / 1e6,
      })),
    };
  });

/** Keys that were taken: even sub-functions with a positive answer. */
function unlocksOf({ bus, exchanges }: Conversation): SeenUnlock[] {
  const found = new Map<string, SeenUnlock>();
  for (const { request, answer, kind } of exchanges) {
    const [service, level = 1] = request.payload;
    if (service !== SECURITY_ACCESS || level % 2 !== 0 || kind !== 'positive' || !answer) continue;
    const [asks, answers] = [formatId(request.stream.id), formatId(answer.stream.id)];
    const key = `${asks} ${answers}`;
    const times = (found.get(key)?.times ?? 0) + 1;
    found.set(key, { bus, asks, answers, extended: answer.stream.extended, times });
  }
  return [...found.values()];
}

/** Each code of each module once, as it was last told. O(frames of streams that may be diagnostics). */
export function diagnosticsSeen(table: FrameTable): DiagnosticsSeen {
  const conversations = findConversations(table);
  const answers = conversations.flatMap(answersOf);
  const codes = new Map(
    answers.flatMap(({ lost }) => lost.map((code) => [`${code.bus} ${code.id} ${code.code}`, code] as const)),
  );
  const asked = new Map(answers.map((each) => [`${each.asked.bus} ${each.asked.id}`, each.asked]));
  return {
    lostCodes: [...codes.values()],
    askedForFaults: [...asked.values()],
    unlocks: conversations.flatMap(unlocksOf),
  };
}
