/**
 * Words in headings that say what a column holds, in the languages that loggers' exports are met in.
 * Common practice, no source. Headings are compared in lower case, without punctuation and accents.
 */
import type { Role, TimeForm } from './plan.ts';

const WORDS: readonly (readonly [Role | 'byte' | 'counter' | 'ascii' | 'checksum' | 'delta', RegExp])[] = [
  ['checksum', /\b(crc|checksum|chksum|prufsumme|somme)/],
  [
    'counter',
    /^(no|nr|num|number|index|idx|row|line|seq|sequence|count|counter|zeile|numero|laufnummer|番号|#|frame ?(no|nr|number|count|index)|msg ?(no|nr|count))$/,
  ],
  ['delta', /\b(delta|diff|dt|cycle|zyklus|interval|period|differenz)\b/],
  ['ascii', /\b(ascii|text|chars?)\b/],
  ['byte', /^(data|daten|donnees|datos|dati|octet|oct|byte|b|d|db)? ?\[?\d{1,2}\]?$/],
  [
    'extended',
    /\b(ext|extended|is ?extended|ide|xtd|eff|29 ?bit|id ?type|idtype|format|frame ?format|etendu|erweitert)\b/,
  ],
  ['fd', /\b(fd|fdf|edl|is ?fd|canfd|can ?fd)\b/],
  ['brs', /\b(brs|is ?brs)\b/],
  ['esi', /\b(esi|is ?esi)\b/],
  [
    'direction',
    /\b(dir|direction|rx ?tx|tx ?rx|rxtx|txrx|r t|richtung|sens|direccion|direzione|way|transmit|方向)\b|方向/,
  ],
  [
    'length',
    /\b(dlc|len|length|size|data ?len(gth)?|datalength|nbytes|lange|laenge|longueur|longitud|lunghezza|bytes?count)\b|長さ|データ長/,
  ],
  [
    'id',
    /\b(id|ident|identifier|arb(itration)? ?id|arbid|can ?id|canid|msg ?id|message ?id|msgid|frame ?id|cob ?id|kennung|identifiant|identificador|identificatore|pgn|address|addr|adresse)\b|識別子|アイディー/,
  ],
  [
    'bus',
    /\b(bus|channel|chan|chn|ch|interface|iface|port|network|net|kanal|canal|canale|voie|source|device)\b|チャンネル|チャネル|バス/,
  ],
  ['date', /^(date|datum|fecha|data ?di|日付)$/],
  [
    'time',
    /\b(time|timestamp|time ?stamp|ts|stamp|zeit|zeitstempel|uhrzeit|temps|horodatage|heure|tiempo|hora|tempo|ora|seconds?|secs?|micros|millis|utc|datetime)\b|時刻|時間|タイム/,
  ],
  ['remote', /\b(rtr|remote|is ?remote)\b/],
  ['kind', /\b(type|frame ?type|msg ?type|kind|typ|art)\b/],
  [
    'data',
    /\b(data|payload|bytes|databytes|daten|nutzdaten|donnees|datos|dati|content|message|msg|hex ?data|body|charge ?utile)\b|データ/,
  ],
];

export type HeadingMeaning = (typeof WORDS)[number][0];

/** Lower case, accents and punctuation gone, camel case taken apart. */
export function plainHeading(heading: string): string {
  return heading
    .replace(/([a-z])([A-Z])/g, '$1 $2')
    .normalize('NFKD')
    .replace(/[\u0300-\u036f]/g, '')
    .toLowerCase()
    .replace(/[_\-./:()]+/g, ' ')
    .replace(/\s+/g, ' ')
    .trim();
}

/** What a heading says; null where it says nothing known. */
export function meaningOf(heading: string): HeadingMeaning | null {
  const plain = plainHeading(heading);
  if (plain === '') return null;
  return WORDS.find(([, pattern]) => pattern.test(plain))?.[0] ?? null;
}

const UNITS: readonly (readonly [TimeForm, RegExp])[] = [
  ['nanoseconds', /\b(ns|nsec|nanos?|nanoseconds?)\b/],
  ['microseconds', /\b(us|usec|µs|μs|micros?|microseconds?|mikrosekunden)\b/],
  ['milliseconds', /\b(ms|msec|millis?|milliseconds?|millisekunden)\b/],
  ['seconds', /\b(s|sec|secs|seconds?|sekunden|secondes|segundos)\b/],
];

/** The unit that a heading names: "Time [ms]", "timestamp_us". */
export function unitInHeading(heading: string): TimeForm | null {
  const plain = plainHeading(heading).replace(/[[\]{}<>,;]/g, ' ');
  return UNITS.find(([, pattern]) => pattern.test(plain))?.[0] ?? null;
}

const BASES: readonly (readonly ['hex' | 'decimal', RegExp])[] = [
  ['hex', /\b(hex|hexadecimal)\b/],
  ['decimal', /\b(dec|decimal|dezimal)\b/],
];

export function baseInHeading(heading: string): 'hex' | 'decimal' | null {
  return BASES.find(([, pattern]) => pattern.test(plainHeading(heading)))?.[0] ?? null;
}

export const isSentWord = (text: string): boolean =>
  /^(t|tx|txd?|transmit(ted)?|send|sent|out(put|going)?|gesendet|emis|tx ?rq|tx ?d?)$/i.test(text);
export const isReceivedWord = (text: string): boolean =>
  /^(r|rx|rxd?|receive(d)?|in(put|coming)?|recv|empfangen|recu)$/i.test(text);
/** Words of a flag that is set. */
export const isSetWord = (text: string): boolean =>
  /^(1|t|true|y|yes|x|xtd|ext|extended|e|eff|29|29[- ]?bit|fd|canfd|brs|esi|ja|oui|si|on|set|extended frame|can ?fd)$/i.test(
    text,
  );
/** Words of a flag that is not set. */
export const isClearWord = (text: string): boolean =>
  /^(0|f|false|n|no|std|standard|s|sff|base|b|11|11[- ]?bit|nein|non|off|classic(al)?|standard frame|-|)$/i.test(text);

export type FrameKind = 'data' | 'remote' | 'error';

/** What a word in a frame-type column says; null where it says nothing about the kind. */
export function frameKindOf(text: string): FrameKind | null {
  if (/^(d|data|data ?frame|daten|std|ext|standard|extended|can|canfd|can fd|fd)$/i.test(text)) return 'data';
  if (/^(r|rtr|remote|remote[ _-]?frame|remote[ _-]?request)$/i.test(text)) return 'remote';
  if (/^(e|err|error|error[ _-]?frame|fehler)$/i.test(text)) return 'error';
  return null;
}
