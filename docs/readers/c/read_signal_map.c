/* Reads a signal map and decodes payloads with it. C99, standard library only; docs/signal-map.md has the rules.

     cc -std=c99 read_signal_map.c -o read_signal_map
     read_signal_map MAP BUS ID PAYLOAD     decodes one frame
     read_signal_map MAP < FRAMES           one frame a line, "BUS ID PAYLOAD"

   ID is hexadecimal ("0x1F4"); an "x" behind it says that the identifier has 29 bits ("0x18F0A2C4x"). PAYLOAD is hexadecimal, spaces
   allowed. Prints one JSON object a frame:

     {"frame": NAME or null where the map does not have it, "refused": [features that the frame needs and this reader lacks],
      "signals": [{"name", "raw", "value", "unit", "state", "text", "invalid"}],
      "counters": [{"name", "value", "verdict"}], "checksums": [true, false, or null where there is no rule to compute]}

   "raw" is a hexadecimal string beyond 2^53; "value" is in the signal's unit, null where there is none ("invalid" says why). A counter
   is "first", "ok", "repeated", "early", "jumped" or "out-of-range". A number of more than 64 bits is not read.

   Permission is granted to anyone to use, copy, change and pass on this file for any purpose. It comes without any warranty. */
#include <inttypes.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const char *const KNOWN_FEATURES[] = {"when", "continues", "table", "checksum-when"};

static void fail(const char *what)
{
  fprintf(stderr, "%s\n", what);
  exit(1);
}

/* ---- JSON ---- */

typedef enum { J_NULL, J_FALSE, J_TRUE, J_NUMBER, J_STRING, J_LIST, J_OBJECT } kind;

typedef struct node {
  kind is;
  char *key;  /* in an object */
  char *text; /* of a string: UTF-8 with a zero behind it, which may hold zeros too */
  size_t length;
  double number;
  struct node *first; /* of a list or object */
  struct node *next;
  /* Of a counter: the last value, and how many frames have shown it; -1 not known, seen 0 before the first. */
  int seen;
  int64_t last;
  int64_t held;
} node;

static const char *at; /* what is read next */
static int depth;

static void *room(size_t size)
{
  void *memory = calloc(1, size);
  if (memory == NULL) {
    fail("out of memory");
  }
  return memory;
}

static void skip_space(void)
{
  while (*at == ' ' || *at == '\t' || *at == '\n' || *at == '\r') {
    at++;
  }
}

static void expect(char sign)
{
  if (*at != sign) {
    fail("the map is not JSON");
  }
  at++;
}

static unsigned read_hex4(void)
{
  unsigned value = 0;
  int i;
  for (i = 0; i < 4; i++, at++) {
    const char *const digits = "0123456789abcdef";
    const char sign = (char)((*at >= 'A' && *at <= 'F') ? *at + ('a' - 'A') : *at);
    const char *const found = sign == '\0' ? NULL : strchr(digits, sign);
    if (found == NULL) {
      fail("the map is not JSON");
      return 0;
    }
    value = value * 16u + (unsigned)(found - digits);
  }
  return value;
}

/* A code point as UTF-8. */
static size_t put_utf8(char *out, unsigned code)
{
  if (code < 0x80u) {
    out[0] = (char)code;
    return 1;
  }
  if (code < 0x800u) {
    out[0] = (char)(0xC0u | (code >> 6));
    out[1] = (char)(0x80u | (code & 0x3Fu));
    return 2;
  }
  if (code < 0x10000u) {
    out[0] = (char)(0xE0u | (code >> 12));
    out[1] = (char)(0x80u | ((code >> 6) & 0x3Fu));
    out[2] = (char)(0x80u | (code & 0x3Fu));
    return 3;
  }
  out[0] = (char)(0xF0u | (code >> 18));
  out[1] = (char)(0x80u | ((code >> 12) & 0x3Fu));
  out[2] = (char)(0x80u | ((code >> 6) & 0x3Fu));
  out[3] = (char)(0x80u | (code & 0x3Fu));
  return 4;
}

/* After the backslash and the u; half of a surrogate pair alone stands for no character. */
static unsigned read_code_point(void)
{
  const unsigned high = read_hex4();
  if (high >= 0xD800u && high < 0xDC00u && at[0] == '\\' && at[1] == 'u') {
    const char *const before = at;
    unsigned low;
    at += 2;
    low = read_hex4();
    if (low >= 0xDC00u && low < 0xE000u) {
      return 0x10000u + ((high - 0xD800u) << 10) + (low - 0xDC00u);
    }
    at = before;
  }
  return (high >= 0xD800u && high < 0xE000u) ? 0xFFFDu : high;
}

static char *read_text(size_t *length)
{
  const char *end = at + 1;
  char *text;
  size_t n = 0;
  expect('"');
  while (*end != '"' && *end != '\0') {
    end += (*end == '\\' && end[1] != '\0') ? 2 : 1;
  }
  text = room((size_t)(end - at) + 1);
  while (*at != '"') {
    if (*at == '\0') {
      fail("the map ends within a text");
    }
    if (*at != '\\') {
      text[n++] = *at++;
      continue;
    }
    at++;
    if (*at == 'u') {
      at++;
      n += put_utf8(text + n, read_code_point());
    } else {
      static const char from[] = "bfnrt\"\\/";
      static const char to[] = "\b\f\n\r\t\"\\/";
      const char *const found = *at == '\0' ? NULL : strchr(from, *at);
      if (found == NULL) {
        fail("the map is not JSON");
        return NULL;
      }
      text[n++] = to[found - from];
      at++;
    }
  }
  at++;
  *length = n;
  return text;
}

static node *read_value(void);

/* Members of a list or object, up to the closing sign. */
static void read_members(node *parent, char closing)
{
  node **end = &parent->first;
  expect(parent->is == J_OBJECT ? '{' : '[');
  skip_space();
  while (*at != closing) {
    char *key = NULL;
    size_t length;
    if (parent->is == J_OBJECT) {
      key = read_text(&length);
      skip_space();
      expect(':');
    }
    *end = read_value();
    (*end)->key = key;
    end = &(*end)->next;
    skip_space();
    if (*at != closing) {
      expect(',');
      skip_space();
    }
  }
  at++;
}

static node *read_value(void)
{
  static const char *const words[] = {"null", "false", "true"};
  node *const value = room(sizeof *value);
  int i;
  if (++depth > 200) {
    fail("the map is nested too deeply");
  }
  skip_space();
  value->is = *at == '"' ? J_STRING : *at == '[' ? J_LIST : *at == '{' ? J_OBJECT : J_NUMBER;
  for (i = 0; i < 3; i++) {
    if (strncmp(at, words[i], strlen(words[i])) == 0) {
      value->is = (kind)i;
      at += strlen(words[i]);
    }
  }
  if (value->is == J_STRING) {
    value->text = read_text(&value->length);
  } else if (value->is == J_LIST || value->is == J_OBJECT) {
    read_members(value, value->is == J_LIST ? ']' : '}');
  } else if (value->is == J_NUMBER) {
    char *end;
    value->number = strtod(at, &end);
    if (end == at) {
      fail("the map is not JSON");
    }
    at = end;
  }
  depth--;
  return value;
}

/* Of an object; NULL where it is not there. Of a key written twice the last counts, as in most JSON readers. */
static node *get(const node *object, const char *key)
{
  node *found = NULL;
  node *each;
  for (each = object == NULL ? NULL : object->first; each != NULL; each = each->next) {
    if (each->key != NULL && strcmp(each->key, key) == 0) {
      found = each;
    }
  }
  return found;
}

static node *items_of(const node *object, const char *key)
{
  node *const list = get(object, key);
  return list == NULL ? NULL : list->first;
}

static double number_in(const node *object, const char *key, double otherwise)
{
  const node *const value = get(object, key);
  return value == NULL || value->is != J_NUMBER ? otherwise : value->number;
}

static const char *text_in(const node *object, const char *key)
{
  const node *const value = get(object, key);
  return value == NULL || value->is != J_STRING ? "" : value->text;
}

static int is_true(const node *object, const char *key)
{
  const node *const value = get(object, key);
  return value != NULL && value->is == J_TRUE;
}

/* A number, or a hexadecimal string. */
static uint64_t word_of(const node *value)
{
  if (value == NULL) {
    return 0;
  }
  return value->is == J_STRING ? (uint64_t)strtoull(value->text, NULL, 16) : (uint64_t)value->number;
}

/* ---- printing ---- */

static void print_bytes(const char *text, size_t length, int latin)
{
  size_t i;
  putchar('"');
  for (i = 0; i < length; i++) {
    const unsigned sign = (unsigned char)text[i];
    if (sign == '"' || sign == '\\') {
      printf("\\%c", (int)sign);
    } else if (sign < 0x20u || sign == 0x7Fu || (latin && sign > 0x7Fu)) {
      printf("\\u%04X", sign);
    } else {
      putchar((int)sign);
    }
  }
  putchar('"');
}

static void print_node(const node *value)
{
  if (value == NULL || value->is != J_STRING) {
    printf("null");
  } else {
    print_bytes(value->text, value->length, 0);
  }
}

static void print_text(const char *text)
{
  if (text == NULL) {
    printf("null");
  } else {
    print_bytes(text, strlen(text), 0);
  }
}

/* ---- fields ---- */

typedef struct {
  uint8_t bytes[64];
  size_t length;
} payload;

/* A field's bits: byte * 8 + bit, the least significant first. */
typedef struct {
  int at[512];
  int count;
  int inside; /* of the payload */
} places;

static void add_piece(places *all, const node *piece, const payload *p)
{
  const node *const lsb = get(piece, "lsb");
  const int little = strcmp(text_in(piece, "order"), "little") == 0;
  int byte = (int)number_in(lsb, "byte", 0);
  int bit = (int)number_in(lsb, "bit", 0);
  int i;
  for (i = 0; i < (int)number_in(piece, "length", 0); i++) {
    if (byte < 0 || byte >= (int)p->length || all->count == 512) {
      all->inside = 0;
      return;
    }
    all->at[all->count++] = byte * 8 + bit;
    if (++bit == 8) {
      bit = 0;
      byte += little ? 1 : -1;
    }
  }
}

static places places_of(const node *field, const payload *p)
{
  places all;
  const node *piece;
  all.count = 0;
  all.inside = 1;
  add_piece(&all, field, p);
  for (piece = items_of(field, "continues"); piece != NULL; piece = piece->next) {
    add_piece(&all, piece, p);
  }
  return all;
}

/* An unsigned number of up to 512 bits, the least significant byte first. */
typedef struct {
  uint8_t bytes[64];
} wide;

static wide raw_of(const places *field, const payload *p)
{
  wide raw;
  int i;
  memset(&raw, 0, sizeof raw);
  for (i = 0; i < field->count; i++) {
    const int from = field->at[i];
    const unsigned bit = ((unsigned)p->bytes[from >> 3] >> (from & 7)) & 1u;
    raw.bytes[i >> 3] = (uint8_t)(raw.bytes[i >> 3] | (bit << (i & 7)));
  }
  return raw;
}

static uint64_t low_word(const wide *raw)
{
  uint64_t word = 0;
  int i;
  for (i = 7; i >= 0; i--) {
    word = (word << 8) | raw->bytes[i];
  }
  return word;
}

static int bytes_used(const wide *raw)
{
  int n = 64;
  while (n > 1 && raw->bytes[n - 1] == 0) {
    n--;
  }
  return n;
}

static wide wide_of(const node *value)
{
  wide out;
  memset(&out, 0, sizeof out);
  if (value != NULL && value->is == J_STRING) {
    size_t i;
    for (i = 0; i + 2 < value->length && i < 128; i++) {
      const char digit[2] = {value->text[value->length - 1 - i], '\0'};
      out.bytes[i >> 1] = (uint8_t)(out.bytes[i >> 1] | (strtoul(digit, NULL, 16) << ((i & 1u) * 4u)));
    }
  } else {
    const uint64_t word = word_of(value);
    int i;
    for (i = 0; i < 8; i++) {
      out.bytes[i] = (uint8_t)(word >> (8 * i));
    }
  }
  return out;
}

static int compare(const wide *a, const wide *b)
{
  int i;
  for (i = 63; i >= 0; i--) {
    if (a->bytes[i] != b->bytes[i]) {
      return a->bytes[i] < b->bytes[i] ? -1 : 1;
    }
  }
  return 0;
}

static void print_raw(const wide *raw)
{
  int n = bytes_used(raw);
  if (n <= 8 && low_word(raw) < (UINT64_C(1) << 53)) {
    printf("%" PRIu64, low_word(raw));
    return;
  }
  printf("\"0x%X", (unsigned)raw->bytes[--n]);
  while (n > 0) {
    printf("%02X", (unsigned)raw->bytes[--n]);
  }
  putchar('"');
}

/* Whether the page that `when` asks for is on; a selector may itself be on a page. */
static int is_on(const node *when, const node *frame, const payload *p)
{
  const node *each;
  for (each = when == NULL ? NULL : when->first; each != NULL; each = each->next) {
    const node *selector = items_of(frame, "selectors");
    const node *value = each->first;
    places field;
    wide raw;
    while (selector != NULL && strcmp(text_in(selector, "name"), each->key) != 0) {
      selector = selector->next;
    }
    if (selector == NULL || !is_on(get(selector, "when"), frame, p)) {
      return 0;
    }
    field = places_of(selector, p);
    raw = raw_of(&field, p);
    while (value != NULL && value->number != (double)low_word(&raw)) {
      value = value->next;
    }
    if (value == NULL || !field.inside) {
      return 0;
    }
  }
  return 1;
}

/* ---- signals ---- */

/* The number that a raw value stands for, before scale and offset. Returns why it stands for none, or NULL. */
static const char *coded_value(uint64_t raw, const char *coding, int bits, double *coded)
{
  const uint64_t top = UINT64_C(1) << (bits - 1);
  *coded = (double)raw;
  if (strcmp(coding, "signed") == 0 && (raw & top) != 0) {
    /* All bits above the field's are set too: what is missing to 2^64 is the magnitude. */
    *coded = -(double)((UINT64_C(0) - raw) & (top | (top - 1u)));
  } else if (strcmp(coding, "sign-magnitude") == 0 && (raw & top) != 0) {
    *coded = -(double)(raw - top);
  } else if (strcmp(coding, "float") == 0) {
    const uint32_t narrow = (uint32_t)raw;
    float single;
    memcpy(&single, &narrow, sizeof single);
    *coded = (double)single;
    if (bits == 64) {
      memcpy(coded, &raw, sizeof *coded);
    }
    return *coded != *coded || (bits != 32 && bits != 64) ? "not a number" : NULL;
  } else if (strcmp(coding, "bcd") == 0) {
    uint64_t value = 0;
    int digit;
    for (digit = 60; digit >= 0; digit -= 4) {
      if (((raw >> digit) & 15u) > 9u) {
        return "not a decimal digit";
      }
      value = value * 10u + ((raw >> digit) & 15u);
    }
    *coded = (double)value;
  }
  return NULL;
}

/* On straight lines between the table's points. Returns 0 outside them. */
static int interpolate(const node *point, double x, double *y)
{
  const node *before = NULL;
  double x1;
  while (point != NULL && point->first->number < x) {
    before = point;
    point = point->next;
  }
  if (point == NULL) {
    return 0;
  }
  x1 = point->first->number;
  *y = point->first->next->number;
  if (x == x1) {
    return 1;
  }
  if (before == NULL) {
    return 0;
  }
  {
    const double x0 = before->first->number;
    const double y0 = before->first->next->number;
    *y = y0 + ((x - x0) * (*y - y0)) / (x1 - x0);
  }
  return 1;
}

/* Returns why there is no value, or NULL. */
static const char *physical_value(const node *signal, const wide *raw, int bits, double *value)
{
  const double offset = number_in(signal, "offset", 0);
  const double scale = number_in(signal, "scale", 1);
  const node *span;
  const char *why;
  double coded;
  for (span = items_of(signal, "invalid"); span != NULL; span = span->next) {
    const wide from = wide_of(get(span, "from"));
    const wide to = wide_of(get(span, "to"));
    if (compare(raw, &from) >= 0 && compare(raw, &to) <= 0) {
      return text_in(span, "meaning")[0] == '\0' ? "invalid" : text_in(span, "meaning");
    }
  }
  *value = 0;
  if (strcmp(text_in(signal, "coding"), "text") == 0) {
    return NULL;
  }
  if (bits > 64) {
    return "more than 64 bits";
  }
  why = coded_value(low_word(raw), text_in(signal, "coding"), bits, &coded);
  if (why != NULL) {
    return why;
  }
  if (items_of(signal, "table") != NULL) {
    return interpolate(items_of(signal, "table"), coded, value) ? NULL : "outside the table";
  }
  /* Without an offset a zero keeps its sign. */
  *value = offset != 0 ? coded * scale + offset : coded == 0 ? coded : coded * scale;
  return NULL;
}

/* One byte a character, in payload order; zeros at the end are padding. */
static void print_characters(const wide *raw, int bits, int little)
{
  char text[64];
  const int count = bits / 8;
  int used = count;
  int i;
  for (i = 0; i < count; i++) {
    text[i] = (char)raw->bytes[little ? i : count - 1 - i];
  }
  while (used > 0 && text[used - 1] == '\0') {
    used--;
  }
  print_bytes(text, (size_t)used, 1);
}

static void print_number(double value)
{
  if (value - value != 0) {
    printf(value > 0 ? "\"Infinity\"" : "\"-Infinity\"");
  } else {
    printf("%.17g", value);
  }
}

static void print_signal(const node *signal, const places *field, const payload *p)
{
  const wide raw = raw_of(field, p);
  const int is_text = strcmp(text_in(signal, "coding"), "text") == 0;
  char key[24];
  double value = 0;
  const char *const invalid = physical_value(signal, &raw, field->count, &value);
  sprintf(key, "%" PRIu64, low_word(&raw));
  printf("{\"name\": ");
  print_node(get(signal, "name"));
  printf(", \"raw\": ");
  print_raw(&raw);
  printf(", \"value\": ");
  if (invalid != NULL || is_text) {
    printf("null");
  } else {
    print_number(value);
  }
  printf(", \"unit\": ");
  print_node(get(signal, "unit"));
  printf(", \"state\": ");
  print_node(bytes_used(&raw) <= 8 ? get(get(signal, "states"), key) : NULL);
  printf(", \"text\": ");
  if (is_text) {
    print_characters(&raw, field->count, strcmp(text_in(signal, "order"), "little") == 0);
  } else {
    printf("null");
  }
  printf(", \"invalid\": ");
  print_text(invalid);
  putchar('}');
}

/* ---- counters ---- */

static const char *judge_counter(node *counter, int64_t value)
{
  const int64_t min = (int64_t)number_in(counter, "min", 0);
  const int64_t max = (int64_t)number_in(counter, "max", 0);
  const int64_t step = (int64_t)number_in(counter, "step", 1);
  const int64_t every = (int64_t)number_in(counter, "every", 1);
  const int64_t span = max - min + 1;
  const int64_t unknown = every > 1 ? -1 : 1;
  const int64_t last = counter->last;
  const int64_t held = counter->held;
  const int seen = counter->seen;
  if (value < min || value > max) {
    counter->seen = 0;
    return "out-of-range";
  }
  counter->seen = 1;
  counter->last = value;
  counter->held = unknown;
  if (!seen) {
    return "first";
  }
  if (value == last) {
    counter->held = held < 0 ? held : held + 1;
    return held < every ? "ok" : "repeated";
  }
  if (value != min + (((last - min + step) % span) + span) % span) {
    return "jumped";
  }
  counter->held = 1;
  return held < 0 || held >= every ? "ok" : "early";
}

/* ---- checksums ---- */

typedef struct {
  uint8_t bytes[1024];
  uint8_t masks[1024]; /* of covered bytes, else 0: which bits count */
  unsigned count;
} message;

static void add_byte(message *m, unsigned byte, unsigned mask)
{
  if (m->count == sizeof m->bytes) {
    fail("a checksum covers too much");
  }
  m->masks[m->count] = (uint8_t)mask;
  m->bytes[m->count++] = (uint8_t)byte;
}

static void add_constants(message *m, const node *byte)
{
  for (; byte != NULL; byte = byte->next) {
    add_byte(m, (unsigned)word_of(byte), 0);
  }
}

/* The entry of a table for this frame's first counter. Returns 0 where there is none. */
static int add_by_counter(message *m, const node *checksum, const char *key, const node *frame, const payload *p)
{
  const node *entry = items_of(checksum, key);
  const node *const counter = items_of(frame, "counters");
  if (entry == NULL) {
    return 1;
  }
  if (counter != NULL) {
    const places field = places_of(counter, p);
    const wide raw = raw_of(&field, p);
    uint64_t pick = low_word(&raw);
    while (entry != NULL && pick-- > 0) {
      entry = entry->next;
    }
    if (field.inside && entry != NULL) {
      add_constants(m, entry->first);
      return 1;
    }
  }
  return 0;
}

/* Prefix, prefix by counter, covered bytes, suffix, suffix by counter. Returns 0 where it cannot be put together. */
static int message_of(message *m, const node *checksum, const node *frame, const places *own, const payload *p)
{
  const node *entry;
  m->count = 0;
  add_constants(m, items_of(checksum, "prefix"));
  if (!add_by_counter(m, checksum, "prefixByCounter", frame, p)) {
    return 0;
  }
  for (entry = items_of(checksum, "covers"); entry != NULL; entry = entry->next) {
    const int whole = entry->is == J_NUMBER;
    const int byte = (int)(whole ? entry->number : number_in(entry, "byte", 0));
    unsigned mask = whole ? 0xFFu : (unsigned)word_of(get(entry, "mask")) & 0xFFu;
    int i;
    if (byte >= (int)p->length) {
      return 0;
    }
    /* Bits of the checksum itself count as zero. */
    for (i = 0; i < own->count; i++) {
      mask &= own->at[i] >> 3 == byte ? ~(1u << (own->at[i] & 7)) : ~0u;
    }
    add_byte(m, p->bytes[byte] & mask, mask);
  }
  add_constants(m, items_of(checksum, "suffix"));
  return add_by_counter(m, checksum, "suffixByCounter", frame, p);
}

/* The i-th unit of a message and how many bits it has; 0 bits behind the end. */
static unsigned unit_of(const message *m, const char *unit, unsigned i, unsigned *bits)
{
  if (strcmp(unit, "nibble") == 0) {
    *bits = i < 2 * m->count ? 4 : 0;
    return *bits == 0 ? 0 : i % 2 == 0 ? (unsigned)m->bytes[i / 2] >> 4 : m->bytes[i / 2] & 15u;
  }
  if (strncmp(unit, "word16", 6) == 0) {
    const unsigned first = 2 * i < m->count ? m->bytes[2 * i] : 0;
    const unsigned second = 2 * i + 1 < m->count ? m->bytes[2 * i + 1] : 0;
    *bits = 2 * i < m->count ? 16 : 0;
    return strcmp(unit, "word16le") == 0 ? first | (second << 8) : (first << 8) | second;
  }
  *bits = i < m->count ? 8 : 0;
  return *bits == 0 ? 0 : m->bytes[i];
}

/* Rocksoft model (R. N. Williams, 1993), bit by bit. */
static uint64_t crc_of(const message *m, const node *checksum, unsigned width, uint64_t mask)
{
  const uint64_t poly = word_of(get(checksum, "poly"));
  const int refin = is_true(checksum, "refin");
  uint64_t reg = word_of(get(checksum, "init"));
  uint64_t turned = 0;
  unsigned bits;
  unsigned unit;
  unsigned i;
  unsigned k;
  for (i = 0; unit = unit_of(m, text_in(checksum, "unit"), i, &bits), bits > 0; i++) {
    for (k = 0; k < bits; k++) {
      const unsigned bit = (unit >> (refin ? k : bits - 1 - k)) & 1u;
      const unsigned top = (unsigned)(reg >> (width - 1)) & 1u;
      reg = ((reg << 1) & mask) ^ ((top ^ bit) != 0 ? poly : 0);
    }
  }
  if (!is_true(checksum, "refout")) {
    return reg;
  }
  for (k = 0; k < width; k++) {
    turned |= ((reg >> k) & 1u) << (width - 1 - k);
  }
  return turned;
}

static uint64_t sum_of(const message *m, const node *checksum, uint64_t mask)
{
  const int around = strcmp(text_in(checksum, "carry"), "end-around") == 0;
  uint64_t sum = word_of(get(checksum, "init"));
  unsigned bits;
  unsigned unit;
  unsigned i;
  for (i = 0; unit = unit_of(m, text_in(checksum, "unit"), i, &bits), bits > 0; i++) {
    const uint64_t before = sum;
    sum += unit;
    /* Past 64 bits the carry goes round here, else below. */
    sum += around && sum < before ? 1u : 0u;
  }
  while (around && (sum & ~mask) != 0) {
    unsigned width = 0;
    while (width < 64 && ((mask >> width) & 1u) != 0) {
      width++;
    }
    sum = (sum & mask) + (sum >> width);
  }
  return sum;
}

static uint64_t xor_of(const message *m, const node *checksum)
{
  uint64_t all = word_of(get(checksum, "init"));
  unsigned bits;
  unsigned unit;
  unsigned i;
  for (i = 0; unit = unit_of(m, text_in(checksum, "unit"), i, &bits), bits > 0; i++) {
    all ^= unit;
  }
  return all;
}

/* The covered bits joined, the first entry most significant, each entry's bits packed to the right. */
static uint64_t copy_of(const message *m)
{
  uint64_t joined = 0;
  unsigned i;
  int bit;
  for (i = 0; i < m->count; i++) {
    for (bit = 7; bit >= 0; bit--) {
      if (((m->masks[i] >> bit) & 1) != 0) {
        joined = (joined << 1) | ((unsigned)(m->bytes[i] >> bit) & 1u);
      }
    }
  }
  return joined;
}

static uint64_t ones(unsigned bits)
{
  return bits >= 64 ? ~UINT64_C(0) : (UINT64_C(1) << bits) - 1u;
}

/* "true", "false", or "null" where there is no rule that could be computed for this frame. */
static const char *checksum_holds(const node *checksum, const node *frame, const places *own, const payload *p)
{
  const char *const method = text_in(checksum, "method");
  const unsigned width = (unsigned)number_in(checksum, "width", own->count < 64 ? own->count : 64);
  const int is_crc = strcmp(method, "crc") == 0;
  const wide stored = raw_of(own, p);
  message m;
  uint64_t value;
  if (strcmp(method, "mac") == 0 || strcmp(method, "unsolved") == 0 || items_of(checksum, "covers") == NULL ||
      (is_crc && get(checksum, "poly") == NULL) || !message_of(&m, checksum, frame, own, p)) {
    return "null";
  }
  if (is_crc) {
    value = crc_of(&m, checksum, width, ones(width));
  } else if (strcmp(method, "sum") == 0) {
    value = sum_of(&m, checksum, ones(width));
  } else {
    value = strcmp(method, "xor") == 0 ? xor_of(&m, checksum) : copy_of(&m);
  }
  value = (value ^ word_of(get(checksum, "xorout"))) & ones(width) & ones((unsigned)own->count);
  return bytes_used(&stored) <= 8 && value == low_word(&stored) ? "true" : "false";
}

/* ---- frames ---- */

/* Whether a feature's name stands anywhere in a frame: as a key with something in it, or as a value. */
static int mentions(const node *value, const char *feature)
{
  const node *each;
  if (value->is == J_STRING) {
    return strcmp(value->text, feature) == 0;
  }
  for (each = value->first; each != NULL; each = each->next) {
    const int something = each->is != J_NULL && each->is != J_FALSE;
    if ((each->key != NULL && strcmp(each->key, feature) == 0 && something) || mentions(each, feature)) {
      return 1;
    }
  }
  return 0;
}

static int is_known(const char *feature)
{
  size_t i;
  for (i = 0; i < sizeof KNOWN_FEATURES / sizeof KNOWN_FEATURES[0]; i++) {
    if (strcmp(feature, KNOWN_FEATURES[i]) == 0) {
      return 1;
    }
  }
  return 0;
}

/* Prints the features that keep this frame from being decoded: the frames that name it, or all of them where none does. */
static int print_refused(const node *map, const node *frame)
{
  const node *feature;
  int count = 0;
  for (feature = items_of(map, "requires"); feature != NULL; feature = feature->next) {
    const node *each = items_of(map, "frames");
    if (is_known(feature->text)) {
      continue;
    }
    while (each != NULL && !mentions(each, feature->text)) {
      each = each->next;
    }
    if (each == NULL || mentions(frame, feature->text)) {
      printf(count++ > 0 ? ", " : "");
      print_node(feature);
    }
  }
  return count;
}

static const node *find_frame(const node *map, const char *bus, uint64_t id, int extended)
{
  const node *frame;
  for (frame = items_of(map, "frames"); frame != NULL; frame = frame->next) {
    if (strcmp(text_in(frame, "bus"), bus) == 0 && word_of(get(frame, "id")) == id &&
        is_true(frame, "extended") == extended) {
      return frame;
    }
  }
  return NULL;
}

static void print_items(const node *frame, const char *section, const payload *p)
{
  node *item;
  int count = 0;
  for (item = items_of(frame, section); item != NULL; item = item->next) {
    const places field = places_of(item, p);
    if (!field.inside || !is_on(get(item, "when"), frame, p)) {
      continue;
    }
    printf(count++ > 0 ? ", " : "");
    if (strcmp(section, "signals") == 0) {
      print_signal(item, &field, p);
    } else if (strcmp(section, "counters") == 0) {
      const wide raw = raw_of(&field, p);
      printf("{\"name\": ");
      print_node(get(item, "name"));
      printf(", \"value\": %" PRIu64 ", \"verdict\": \"%s\"}", low_word(&raw),
             judge_counter(item, (int64_t)low_word(&raw)));
    } else {
      printf("%s", checksum_holds(item, frame, &field, p));
    }
  }
}

static void decode(const node *map, const char *bus, const char *id, const payload *p)
{
  static const char *const sections[] = {"signals", "counters", "checksums"};
  const size_t length = strlen(id);
  const int extended = length > 2 && id[length - 1] == 'x';
  const node *const frame = find_frame(map, bus, strtoull(id, NULL, 16), extended);
  int refused = 1;
  int i;
  printf("{\"frame\": ");
  print_node(get(frame, "name"));
  printf(", \"refused\": [");
  if (frame != NULL) {
    refused = print_refused(map, frame);
  }
  putchar(']');
  for (i = 0; i < 3; i++) {
    printf(", \"%s\": [", sections[i]);
    if (refused == 0) {
      print_items(frame, sections[i], p);
    }
    putchar(']');
  }
  printf("}\n");
}

static void add_hex(payload *p, const char *text)
{
  for (; text[0] != '\0' && text[1] != '\0' && p->length < sizeof p->bytes; text += text[0] == ' ' ? 1 : 2) {
    if (text[0] != ' ') {
      const char digits[3] = {text[0], text[1], '\0'};
      p->bytes[p->length++] = (uint8_t)strtoul(digits, NULL, 16);
    }
  }
}

static char *whole_file(const char *name)
{
  FILE *const file = fopen(name, "rb");
  size_t size = 0;
  size_t got;
  char *text = room(1);
  char part[4096];
  if (file == NULL) {
    fail("the map cannot be read");
    return text;
  }
  while ((got = fread(part, 1, sizeof part, file)) > 0) {
    char *const grown = realloc(text, size + got + 1);
    if (grown == NULL) {
      fail("out of memory");
      return text;
    }
    text = grown;
    memcpy(text + size, part, got);
    size += got;
    text[size] = '\0';
  }
  fclose(file);
  return text;
}

int main(int count, char **words)
{
  const node *map;
  char line[4096];
  payload p;
  int i;
  if (count != 2 && count < 4) {
    fail("read_signal_map MAP [BUS ID PAYLOAD]");
  }
  at = whole_file(words[1]);
  at += strncmp(at, "\xEF\xBB\xBF", 3) == 0 ? 3 : 0;
  map = read_value();
  if (strcmp(text_in(map, "format"), "loomscribe.signal-map") != 0 || number_in(map, "version", 0) != 1) {
    fail("not a signal map of version 1");
  }
  p.length = 0;
  for (i = 4; i < count; i++) {
    add_hex(&p, words[i]);
  }
  if (count >= 4) {
    decode(map, words[2], words[3], &p);
  }
  while (count == 2 && fgets(line, sizeof line, stdin) != NULL) {
    const char *const bus = strtok(line, " \t\r\n");
    const char *const id = strtok(NULL, " \t\r\n");
    const char *part;
    p.length = 0;
    while ((part = strtok(NULL, " \t\r\n")) != NULL) {
      add_hex(&p, part);
    }
    if (id != NULL) {
      decode(map, bus, id, &p);
    }
  }
  return 0;
}
