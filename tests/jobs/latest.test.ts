/** The newest question wins: what is asked while one is answered waits, and only the newest of those is asked at all. */
import { describe, expect, it } from 'vitest';
import { createLatest } from '../../src/app/engine/latest.ts';

function slowAnswers() {
  const asked: number[] = [];
  const settle: ((value: string) => void)[] = [];
  const fail: ((error: Error) => void)[] = [];
  const latest = createLatest((question: number) => {
    asked.push(question);
    return new Promise<string>((resolve, reject) => {
      settle.push(resolve);
      fail.push(reject);
    });
  });
  return { asked, settle, fail, latest };
}

const turn = (): Promise<void> => new Promise((resolve) => setTimeout(resolve));

describe('the newest question', () => {
  it('is asked next; those it overtook are never asked, and the outdated answer is dropped', async () => {
    const { asked, settle, latest } = slowAnswers();
    const answers = [latest.ask(1), latest.ask(2), latest.ask(3)];
    expect(asked).toEqual([1]);
    settle[0]?.('one');
    await turn();
    expect(asked).toEqual([1, 3]);
    settle[1]?.('three');
    expect(await Promise.all(answers)).toEqual([null, null, 'three']);
  });

  it('alone is answered', async () => {
    const { settle, latest } = slowAnswers();
    const answer = latest.ask(1);
    settle[0]?.('one');
    expect(await answer).toBe('one');
  });

  it('after a drop nothing under way is answered, and asking goes on', async () => {
    const { settle, latest, asked } = slowAnswers();
    const [first, waiting] = [latest.ask(1), latest.ask(2)];
    latest.drop();
    settle[0]?.('one');
    expect(await Promise.all([first, waiting])).toEqual([null, null]);
    const next = latest.ask(3);
    settle[1]?.('three');
    expect(await next).toBe('three');
    expect(asked).toEqual([1, 3]);
  });

  it('a failure reaches who still waits for it, and does not block the next question', async () => {
    const { fail, settle, latest } = slowAnswers();
    const broken = latest.ask(1);
    fail[0]?.(new Error('broke'));
    await expect(broken).rejects.toThrow('broke');
    const [outdated, next] = [latest.ask(2), latest.ask(3)];
    fail[1]?.(new Error('too late'));
    expect(await outdated).toBeNull();
    await turn();
    settle[2]?.('three');
    expect(await next).toBe('three');
  });
});
