/** The text that goes with the demo's files. */
export function readmeText(): string {
  return `Loomscribe demo: the Ormvik PK3 and the workboat Terne
=======================================================

Everything here is invented: the make, the van, its messages, the drives. No real vehicle sends these frames.

The story: an electric post van, the Ormvik PK3, was written off after a side impact. Its drive unit and pack are to drive
the harbour workboat Terne. Before the harness is cut, two drives are recorded on both buses, and one key-on with the
inverter unplugged. Not every wreck can do that: two more recordings are of a van of the type whose pyro fuse has fired, with
the key on, and of the inverter by itself on the bench.

drive-1.log              main capture, log lines; can0 500 kbit/s, can1 250 kbit/s
drive-2.pcapng           another day, another power cycle
inverter-unplugged.csv   key-on with the inverter's plug off
key-on.log               a donor that cannot drive: fuse fired, key on, doors, brake, indicator, heater, hand brake
bench.log                the inverter alone, supply and wake line on and off five times
marks-1.csv, marks-2.csv what the operator did and when, by a phone whose clock is ahead of the logger's; some
                         marks are missing, some are extra, all are late by a person's reaction
marks-key-on.csv, marks-bench.csv   the same for the two that do not drive
reference-1.csv          speed by satellite once a second, a few meter readings at the pack
true-map.json            the true signal map: to compare with what you find

Try:
  npx loomscribe survey drive-1.log
  npx loomscribe draft drive-1.log --marks marks-1.csv --reference reference-1.csv -o map.json
  npx loomscribe prove drive-2.pcapng --map map.json --marks marks-2.csv
  npx loomscribe draft key-on.log --marks marks-key-on.csv --suffices --donor key-on
  npx loomscribe draft bench.log --marks marks-bench.csv --suffices --donor bench
  npx loomscribe prove key-on.log --map map.json

Cautions: a real pack holds hundreds of volts and can kill, also when the vehicle is off; recording while driving needs a
second person; sending on a live bus can move the vehicle. Follow local codes and leave high voltage to those licensed for it.
`;
}
