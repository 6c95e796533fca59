/** Chooses the verb, runs it, and turns how it ended into an exit code: 0 done, 1 could not, 2 wrong usage. */
import { Cancelled } from '../kit/control.ts';
import { CannotDo, parseWords, WrongUsage } from './arguments.ts';
import { createTerminal } from './terminal.ts';
import { helpFor, helpForAll, HELP_OPTION, type Verb } from './verb.ts';
import { VERBS } from './verbs/index.ts';
import { VERSION } from './version.ts';

const STOPPED = 'Stopped by Ctrl C before it was done: there is no result.';

function nearest(word: string): Verb | undefined {
  return VERBS.find((verb) => verb.name.startsWith(word.slice(0, 3)));
}

function unknownVerb(word: string): WrongUsage {
  const near = nearest(word);
  const hint = near ? ` Did you mean "${near.name}"?` : '';
  return new WrongUsage(`"${word}" is not a verb.${hint} loomscribe --help lists them.`);
}

async function runVerb(verb: Verb, args: readonly string[]): Promise<void> {
  const dashes = verb.parted ? -1 : args.indexOf('--');
  const own = dashes < 0 ? args : args.slice(0, dashes);
  if (own.includes('--help') || own.includes('-h')) {
    process.stdout.write(`${helpFor(verb)}\n`);
    return;
  }
  const terminal = createTerminal();
  // Ended by the signal itself, which a shell shows as 130: an orderly exit may wait for ever for threads that are only just starting.
  const stop = (): void => {
    terminal.say(STOPPED);
    process.kill(process.pid, 'SIGINT');
  };
  process.once('SIGINT', stop);
  try {
    await verb.run(parseWords(args, [...verb.options, HELP_OPTION], verb.parted), terminal);
  } finally {
    process.off('SIGINT', stop);
    terminal.settle();
  }
}

function exitCodeOf(error: unknown, verb: Verb | undefined): number {
  if (error instanceof WrongUsage) {
    process.stderr.write(`${error.message}\n`);
    if (verb) process.stderr.write(`Usage: loomscribe ${verb.name} ${verb.usage}\n`);
    return 2;
  }
  if (error instanceof CannotDo || error instanceof Cancelled) {
    process.stderr.write(`${error.message}\n`);
    return 1;
  }
  process.stderr.write(
    `This is a fault of loomscribe itself, not of your files:\n${(error as Error)?.stack ?? String(error)}\n`,
  );
  return 1;
}

export async function main(args: readonly string[]): Promise<number> {
  // A reader that closes the pipe early (`| head`) has had enough: not an error.
  process.stdout.on('error', (error: NodeJS.ErrnoException) => {
    if (error.code === 'EPIPE') process.exit(0);
    throw error;
  });
  const [word, ...rest] = args;
  if (word === undefined) {
    process.stderr.write(`${helpForAll(VERBS, VERSION)}\n`);
    return 2;
  }
  if (word === '--help' || word === '-h' || word === 'help') {
    process.stdout.write(`${helpForAll(VERBS, VERSION)}\n`);
    return 0;
  }
  if (word === '--version') {
    process.stdout.write(`${VERSION}\n`);
    return 0;
  }
  const verb = VERBS.find((candidate) => candidate.name === word);
  try {
    if (!verb) throw unknownVerb(word);
    await runVerb(verb, rest);
    return 0;
  } catch (error) {
    return exitCodeOf(error, verb);
  }
}
