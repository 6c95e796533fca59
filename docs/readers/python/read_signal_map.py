#!/usr/bin/env python3
"""Reads a signal map and decodes payloads with it. Standard library only; docs/signal-map.md has the rules.

    python3 read_signal_map.py MAP BUS ID PAYLOAD     decodes one frame
    python3 read_signal_map.py MAP < FRAMES           one frame a line, "BUS ID PAYLOAD"

ID is hexadecimal ("0x1F4"); an "x" behind it says that the identifier has 29 bits ("0x18F0A2C4x"). PAYLOAD is hexadecimal,
spaces allowed. Prints one JSON object a frame:

    {"frame": NAME or null where the map does not have it, "refused": [features that the frame needs and this reader lacks],
     "signals": [{"name", "raw", "value", "unit", "state", "text", "invalid"}],
     "counters": [{"name", "value", "verdict"}], "checksums": [true | false | null where there is no rule to compute]}

"raw" is a hexadecimal string beyond 2^53; "value" is in the signal's unit, null where there is none ("invalid" says why).
A counter is "first", "ok", "repeated", "early", "jumped" or "out-of-range".

Permission is granted to anyone to use, copy, change and pass on this file for any purpose. It comes without any warranty.
"""
import json
import math
import struct
import sys

KNOWN_FEATURES = {"when", "continues", "table", "checksum-when"}


def bit_positions(field):
    """Every bit of a field as byte * 8 + bit, the least significant first."""
    positions = []
    for piece in [field, *(field.get("continues") or [])]:
        byte, bit = piece["lsb"]["byte"], piece["lsb"]["bit"]
        for _ in range(piece["length"]):
            positions.append(byte * 8 + bit)
            bit += 1
            if bit == 8:
                bit = 0
                byte += 1 if piece["order"] == "little" else -1
    return positions


def fits(field, payload):
    return all(0 <= at < len(payload) * 8 for at in bit_positions(field))


def raw_value(field, payload):
    """The field's bits as an unsigned number."""
    return sum(((payload[at >> 3] >> (at & 7)) & 1) << place for place, at in enumerate(bit_positions(field)))


def written(raw):
    """Numbers beyond 2^53 are written as text, since many JSON readers would round them."""
    return raw if raw < 2**53 else "0x%X" % raw


def number_of(value):
    """A number of the map: decimal, or a hexadecimal string."""
    return int(value, 16) if isinstance(value, str) else value


def is_on(when, frame, payload):
    """Whether the page that `when` asks for is on; a selector may itself be on a page."""
    for name, values in (when or {}).items():
        selector = next((each for each in frame["selectors"] if each["name"] == name), None)
        if selector is None or not fits(selector, payload) or not is_on(selector.get("when"), frame, payload):
            return False
        if raw_value(selector, payload) not in values:
            return False
    return True


def here(items, frame, payload):
    return [item for item in items if fits(item, payload) and is_on(item.get("when"), frame, payload)]


# ---- signals ----


def coded_value(raw, coding, bits):
    """The number that a raw value stands for, before scale and offset. None: it stands for none."""
    if coding == "signed":
        return raw - (1 << bits) if raw >> (bits - 1) else raw
    if coding == "sign-magnitude":
        return -float(raw - (1 << (bits - 1))) if raw >> (bits - 1) else raw
    if coding == "float":
        if bits not in (32, 64):
            return None
        value = struct.unpack(">f" if bits == 32 else ">d", raw.to_bytes(bits // 8, "big"))[0]
        return None if math.isnan(value) else value
    if coding == "bcd":
        digits = "%x" % raw
        return int(digits) if digits.isdigit() else None
    return raw


NO_NUMBER = {"float": "not a number", "bcd": "not a decimal digit"}


def interpolate(table, x):
    """On straight lines between the table's points; None outside them."""
    after = next((i for i, (raw, _) in enumerate(table) if raw >= x), None)
    if after is None or x < table[0][0]:
        return None
    x1, y1 = table[after]
    if x == x1:
        return y1
    x0, y0 = table[after - 1]
    return y0 + (x - x0) * (y1 - y0) / (x1 - x0)


def physical_value(signal, coded):
    """None: outside the signal's table."""
    if signal["table"]:
        value = interpolate(signal["table"], float(coded))
        return None if value is None else float(value)
    if signal["offset"] == 0:
        # A zero keeps its sign.
        return float(coded) if coded == 0 else float(coded) * signal["scale"]
    return float(coded) * signal["scale"] + signal["offset"]


def text_of(raw, bits, order):
    """One byte a character, in payload order; zeros at the end are padding."""
    characters = raw.to_bytes(bits // 8, "little" if order == "little" else "big")
    return characters.rstrip(b"\0").decode("latin-1")


def decode_signal(signal, payload):
    bits = len(bit_positions(signal))
    raw = raw_value(signal, payload)
    out = {"name": signal["name"], "raw": written(raw), "value": None, "unit": signal["unit"]}
    out["state"] = signal["states"].get(str(raw))
    out["text"] = text_of(raw, bits, signal["order"]) if signal["coding"] == "text" else None
    out["invalid"] = None
    for span in signal["invalid"]:
        if number_of(span["from"]) <= raw <= number_of(span["to"]):
            out["invalid"] = span["meaning"] or "invalid"
            return out
    if signal["coding"] == "text":
        return out
    coded = coded_value(raw, signal["coding"], bits)
    value = None if coded is None else physical_value(signal, coded)
    if value is None:
        out["invalid"] = NO_NUMBER.get(signal["coding"], "") if coded is None else "outside the table"
    else:
        out["value"] = value if math.isfinite(value) else ("Infinity" if value > 0 else "-Infinity")
    return out


# ---- counters ----


def judge_counter(counter, value, state):
    """state: {"last": value, "held": frames that have shown it, None where the first was not seen}; changed in place."""
    last, held, every = state.get("last"), state.get("held"), counter["every"]
    if not counter["min"] <= value <= counter["max"]:
        state.clear()
        return "out-of-range"
    unknown = None if every > 1 else 1
    if last is None:
        state.update(last=value, held=unknown)
        return "first"
    if value == last:
        state["held"] = None if held is None else held + 1
        return "ok" if held is None or held < every else "repeated"
    span = counter["max"] - counter["min"] + 1
    if value != counter["min"] + (last - counter["min"] + counter["step"]) % span:
        state.update(last=value, held=unknown)
        return "jumped"
    state.update(last=value, held=1)
    return "ok" if held is None or held >= every else "early"


# ---- checksums ----


def message_of(checksum, frame, payload):
    """Prefix, prefix by counter, covered bytes, suffix, suffix by counter; None where the counter is beyond the tables."""
    own = bit_positions(checksum)
    tables = [checksum.get("prefixByCounter") or [], checksum.get("suffixByCounter") or []]
    parts = [[], []]
    if any(tables):
        if not frame["counters"] or not fits(frame["counters"][0], payload):
            return None
        pick = raw_value(frame["counters"][0], payload)
        if any(table and pick >= len(table) for table in tables):
            return None
        parts = [[int(byte, 16) for byte in table[pick]] if table else [] for table in tables]
    covered = []
    for entry in checksum.get("covers") or []:
        byte, mask = (entry, 0xFF) if isinstance(entry, int) else (entry["byte"], number_of(entry["mask"]) & 0xFF)
        if byte >= len(payload):
            return None
        # Bits of the checksum itself count as zero.
        mask &= ~sum(1 << (at & 7) for at in own if at >> 3 == byte)
        covered.append((payload[byte] & mask, mask))
    constants = [[int(byte, 16) for byte in checksum.get(key) or []] for key in ("prefix", "suffix")]
    return constants[0] + parts[0], covered, constants[1] + parts[1]


def units_of(message, unit):
    """Pairs of value and width in bits."""
    if unit == "nibble":
        return [(half, 4) for byte in message for half in (byte >> 4, byte & 15)]
    if unit in ("word16le", "word16be"):
        padded = message + [0] * (len(message) % 2)
        order = "little" if unit == "word16le" else "big"
        return [(int.from_bytes(padded[i : i + 2], order), 16) for i in range(0, len(padded), 2)]
    return [(byte, 8) for byte in message]


def reflected(value, bits):
    return int(format(value, "0%db" % bits)[::-1], 2)


def crc_of(units, width, poly, init, refin, refout):
    """Rocksoft model (R. N. Williams, 1993), bit by bit."""
    register, mask = init, (1 << width) - 1
    for value, bits in units:
        for place in range(bits):
            bit = (value >> (place if refin else bits - 1 - place)) & 1
            top = (register >> (width - 1)) & 1
            register = ((register << 1) & mask) ^ (poly if top ^ bit else 0)
    return reflected(register, width) if refout else register


def checksum_holds(checksum, frame, payload):
    """None: there is no rule that could be computed for this frame."""
    method = checksum["method"]
    if method in ("mac", "unsolved") or not checksum.get("covers") or (method == "crc" and not checksum.get("poly")):
        return None
    message = message_of(checksum, frame, payload)
    if message is None:
        return None
    before, covered, after = message
    length = len(bit_positions(checksum))
    width = checksum.get("width") or min(64, length)
    init, poly, xorout = (int(checksum.get(key) or "0x0", 16) for key in ("init", "poly", "xorout"))
    units = units_of(before + [byte for byte, _ in covered] + after, checksum.get("unit") or "byte")
    value = init
    if method == "crc":
        value = crc_of(units, width, poly, init, checksum.get("refin", False), checksum.get("refout", False))
    elif method == "sum":
        value += sum(unit for unit, _ in units)
        while checksum.get("carry") == "end-around" and value >> width:
            value = (value & ((1 << width) - 1)) + (value >> width)
    elif method == "xor":
        for unit, _ in units:
            value ^= unit
    else:
        value = 0
        for byte, mask in covered:
            for bit in range(7, -1, -1):
                if (mask >> bit) & 1:
                    value = (value << 1) | ((byte >> bit) & 1)
    value = ((value ^ xorout) & ((1 << width) - 1)) & ((1 << length) - 1)
    return value == raw_value(checksum, payload)


# ---- frames ----


def mentions(value, feature):
    """Whether a feature's name stands anywhere in a frame: as a key with something in it, or as a value."""
    if isinstance(value, list):
        return any(mentions(item, feature) for item in value)
    if isinstance(value, dict):
        return any((key == feature and item not in (None, False)) or mentions(item, feature) for key, item in value.items())
    return isinstance(value, str) and value == feature


class SignalMap:
    def __init__(self, document):
        if document.get("format") != "loomscribe.signal-map" or document.get("version") != 1:
            raise ValueError("not a signal map of version 1")
        self.frames = {}
        self.refused = {}
        self.counters = {}
        for frame in document["frames"]:
            self.frames[(frame["bus"], int(frame["id"], 16), frame["extended"])] = frame
        # A feature that this reader lacks: the frames that name it are refused, or all of them where none does.
        for feature in document["requires"]:
            if feature in KNOWN_FEATURES:
                continue
            named = [key for key, frame in self.frames.items() if mentions(frame, feature)]
            for key in named or self.frames:
                self.refused.setdefault(key, []).append(feature)

    def decode(self, bus, identifier, extended, payload):
        key = (bus, identifier, extended)
        frame = self.frames.get(key)
        refused = self.refused.get(key, [])
        out = {"frame": frame and frame["name"], "refused": refused, "signals": [], "counters": [], "checksums": []}
        if frame is None or refused:
            return out
        out["signals"] = [decode_signal(signal, payload) for signal in here(frame["signals"], frame, payload)]
        for counter in here(frame["counters"], frame, payload):
            value = raw_value(counter, payload)
            state = self.counters.setdefault((key, counter["name"]), {})
            verdict = judge_counter(counter, value, state)
            out["counters"].append({"name": counter["name"], "value": value, "verdict": verdict})
        checksums = here(frame["checksums"], frame, payload)
        out["checksums"] = [checksum_holds(checksum, frame, payload) for checksum in checksums]
        return out


def parse_frame(words):
    bus, identifier, *payload = words
    extended = len(identifier) > 2 and identifier.endswith("x")
    return bus, int(identifier.rstrip("x") if extended else identifier, 16), extended, bytes.fromhex("".join(payload))


def main(arguments):
    if len(arguments) == 1:
        lines = (line.split() for line in sys.stdin if line.strip())
    elif len(arguments) >= 3:
        lines = [arguments[1:]]
    else:
        sys.exit(__doc__)
    with open(arguments[0], encoding="utf-8-sig") as file:
        signal_map = SignalMap(json.load(file))
    for words in lines:
        print(json.dumps(signal_map.decode(*parse_frame(words))))


if __name__ == "__main__":
    main(sys.argv[1:])
