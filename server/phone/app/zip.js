// A zip file without packing: one file to carry what could not be sent to the office.
import { concat, utf8 } from './bytes.js'

const table = Uint32Array.from({ length: 256 }, (_, n) => {
  for (let k = 0; k < 8; k++) n = n & 1 ? 0xedb88320 ^ (n >>> 1) : n >>> 1
  return n >>> 0
})
const crc = (bytes) => {
  let c = 0xffffffff
  for (const b of bytes) c = table[(c ^ b) & 255] ^ (c >>> 8)
  return (c ^ 0xffffffff) >>> 0
}
const le = (...pairs) => {
  const out = new Uint8Array(pairs.reduce((n, [, size]) => n + size, 0)), view = new DataView(out.buffer)
  let at = 0
  for (const [v, size] of pairs) {
    size === 2 ? view.setUint16(at, v, true) : view.setUint32(at, v, true)
    at += size
  }
  return out
}

// zip packs [{name, bytes}] into a Blob.
export const zip = (files) => {
  const parts = [], ends = []
  let at = 0
  for (const { name, bytes } of files) {
    const n = utf8(name), sum = crc(bytes)
    const same = [[20, 2], [0x0800, 2], [0, 2], [0, 2], [0x21, 2], [sum, 4], [bytes.length, 4], [bytes.length, 4], [n.length, 2], [0, 2]]
    const head = concat(le([0x04034b50, 4], ...same), n)
    parts.push(head, bytes)
    ends.push(concat(le([0x02014b50, 4], [20, 2], ...same, [0, 2], [0, 2], [0, 2], [0, 4], [at, 4]), n))
    at += head.length + bytes.length
  }
  const size = ends.reduce((s, e) => s + e.length, 0)
  return new Blob([...parts, ...ends, le([0x06054b50, 4], [0, 2], [0, 2], [ends.length, 2], [ends.length, 2], [size, 4], [at, 4], [0, 2])], { type: 'application/zip' })
}
