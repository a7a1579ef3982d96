// The readable code of a sheet: 12 characters and one that catches every changed character and every swap of neighbours.
const letters = '0123456789ABCDEFGHJKMNPQRSTVWXYZ'
const length = 12

const double = (v) => ((v << 1) & 32 ? (v << 1) ^ 0b100101 : v << 1)
const check = (code) => {
  let sum = 0
  for (let i = 0; i < code.length; i++) {
    let v = letters.indexOf(code[i])
    for (let n = code.length - i; n > 0; n--) v = double(v)
    sum ^= v
  }
  return letters[sum]
}

// readCode takes a code as people type it, or the address on a sheet; what is wrong is thrown as a sentence.
export const readCode = (typed) => {
  const plain = typed.trim().replace(/^https?:\/\/[^/]*\/S\//i, '')
  let code = ''
  for (let c of plain.toUpperCase()) {
    if (' -\t\n\r'.includes(c)) continue
    c = { O: '0', I: '1', L: '1' }[c] ?? c
    if (!letters.includes(c)) throw new Error('Code must be digits and letters without U.')
    code += c
    if (code.length > length + 1) break
  }
  if (code.length !== length + 1) throw new Error('Code must be 13 characters.')
  if (check(code.slice(0, length)) !== code[length]) throw new Error('It has a typing error; compare it with the sheet.')
  return code
}

export const showCode = (code) => `${code.slice(0, 4)}-${code.slice(4, 8)}-${code.slice(8, 12)}-${code.slice(12)}`
