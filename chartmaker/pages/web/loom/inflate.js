// A zlib stream unpacked (RFC 1950 and 1951): many a browser beside a loom is too old to do it by itself.

const LENGTHS = [3, 4, 5, 6, 7, 8, 9, 10, 11, 13, 15, 17, 19, 23, 27, 31, 35, 43, 51, 59, 67, 83, 99, 115, 131, 163, 195, 227, 258];
const LENGTH_BITS = [0, 0, 0, 0, 0, 0, 0, 0, 1, 1, 1, 1, 2, 2, 2, 2, 3, 3, 3, 3, 4, 4, 4, 4, 5, 5, 5, 5, 0];
const ORDER = [16, 17, 18, 0, 8, 7, 9, 6, 10, 5, 11, 4, 12, 3, 13, 2, 14, 1, 15];

/** A table that gives, for the next bits of the stream, a symbol and how many bits it takes: symbol * 16 + bits. */
function codeTable(lengths) {
  const longest = Math.max(1, ...lengths);
  const entries = new Uint16Array(1 << longest);
  let code = 0;
  for (let size = 1; size <= longest; size++) {
    for (let symbol = 0; symbol < lengths.length; symbol++) {
      if (lengths[symbol] !== size) continue;
      let turned = 0;
      for (let bit = 0; bit < size; bit++) turned |= ((code >> bit) & 1) << (size - 1 - bit);
      for (let at = turned; at < entries.length; at += 1 << size) entries[at] = (symbol << 4) | size;
      code++;
    }
    code <<= 1;
  }
  return { entries, longest, mask: entries.length - 1 };
}

const filledWith = (...pairs) => pairs.reduce((all, [times, value]) => all.concat(Array(times).fill(value)), []);
const fixed = { letters: null, distances: null };

function fixedTables() {
  if (!fixed.letters) {
    fixed.letters = codeTable(filledWith([144, 8], [112, 9], [24, 7], [8, 8]));
    fixed.distances = codeTable(filledWith([30, 5]));
  }
  return fixed;
}

/** The bits of a stream, the lowest of each byte first. */
class Bits {
  constructor(bytes) {
    this.bytes = bytes;
    this.at = 2;
    this.hold = 0;
    this.held = 0;
  }

  take(count) {
    while (this.held < count) {
      if (this.at >= this.bytes.length) throw new Error("the data end too soon");
      this.hold |= this.bytes[this.at++] << this.held;
      this.held += 8;
    }
    const value = this.hold & ((1 << count) - 1);
    this.hold >>>= count;
    this.held -= count;
    return value;
  }

  symbol({ entries, longest, mask }) {
    while (this.held < longest && this.at < this.bytes.length) {
      this.hold |= this.bytes[this.at++] << this.held;
      this.held += 8;
    }
    const entry = entries[this.hold & mask];
    const size = entry & 15;
    if (!size || size > this.held) throw new Error("the data hold no such code");
    this.hold >>>= size;
    this.held -= size;
    return entry >> 4;
  }

  align() {
    this.at -= this.held >> 3;
    this.hold = this.held = 0;
  }
}

function tablesOf(bits) {
  const [letters, distances, sizes] = [bits.take(5) + 257, bits.take(5) + 1, bits.take(4) + 4];
  const lengths = Array(19).fill(0);
  for (let number = 0; number < sizes; number++) lengths[ORDER[number]] = bits.take(3);
  const table = codeTable(lengths);
  const all = [];
  while (all.length < letters + distances) {
    const symbol = bits.symbol(table);
    if (symbol < 16) all.push(symbol);
    else {
      const value = symbol === 16 ? all[all.length - 1] : 0;
      let times = symbol === 16 ? 3 + bits.take(2) : symbol === 17 ? 3 + bits.take(3) : 11 + bits.take(7);
      while (times--) all.push(value);
    }
  }
  return { letters: codeTable(all.slice(0, letters)), distances: codeTable(all.slice(letters)) };
}

/** The `size` bytes that the zlib stream `packed` holds; throws where it is damaged. */
export function inflated(packed, size) {
  const out = new Uint8Array(size);
  const bits = new Bits(packed);
  let put = 0;
  let last = 0;
  while (!last) {
    last = bits.take(1);
    const kind = bits.take(2);
    if (kind === 0) {
      bits.align();
      const length = bits.take(16);
      bits.take(16);
      bits.align();
      out.set(packed.subarray(bits.at, bits.at + length), put);
      put += length;
      bits.at += length;
      continue;
    }
    const { letters, distances } = kind === 1 ? fixedTables() : tablesOf(bits);
    for (let symbol = bits.symbol(letters); symbol !== 256; symbol = bits.symbol(letters)) {
      if (symbol < 256) {
        out[put++] = symbol;
        continue;
      }
      const length = LENGTHS[symbol - 257] + bits.take(LENGTH_BITS[symbol - 257]);
      const code = bits.symbol(distances);
      const more = code < 4 ? 0 : (code >> 1) - 1;
      const distance = code < 4 ? code + 1 : (1 << more) * (2 + (code & 1)) + 1 + bits.take(more);
      if (distance > put) throw new Error("the data refer to nothing");
      for (let end = put + length; put < end; put++) out[put] = out[put - distance];
    }
  }
  bits.align();
  let [low, high] = [1, 0];
  for (let number = 0; number < size; number++) {
    low = (low + out[number]) % 65521;
    high = (high + low) % 65521;
  }
  const told = packed.subarray(bits.at, bits.at + 4).reduce((all, byte) => all * 256 + byte, 0);
  if (put !== size || told !== high * 65536 + low) throw new Error("the data are damaged");
  return out;
}
