// The hybrid clock: 48 bits of milliseconds and a counter of 16 bits that carries into them, as 16 hexadecimal digits.

const ahead = 10n * 60n * 1000n // how far another clock may be ahead before it is not merged

const write = (v) => BigInt.asUintN(64, v).toString(16).padStart(16, '0')
const read = (text) => BigInt(`0x${text}`)

export const zero = '0000000000000000'
export const at = (ms) => write(BigInt(ms) << 16n)
export const timeOf = (clock) => Number(read(clock) >> 16n)

// next is the first clock after both the own and the wall.
export const next = (own, ms) => {
  const one = read(own) + 1n, wall = BigInt(ms) << 16n
  return write(one > wall ? one : wall)
}

// merge moves the own clock behind one that was heard, unless that one is far ahead of the wall.
export const merge = (own, heard, ms) => (read(heard) >> 16n > BigInt(ms) + ahead ? own : own > heard ? own : heard)

// corrected puts a clock back that the server's time proves to be far ahead; offset is the device's clock minus the server's.
export const corrected = (own, ms, offset) => {
  const real = BigInt(ms) - BigInt(offset)
  return read(own) >> 16n > real + ahead ? write(real << 16n) : own
}
