// How a screen is made: elements, never text that is read as HTML.
const svg = 'http://www.w3.org/2000/svg'

// h makes an element: h('p', {class: 'also'}, 'text', child).
export const h = (name, attributes = {}, ...children) => {
  const e = document.createElement(name)
  for (const [k, v] of Object.entries(attributes)) {
    if (v === undefined || v === null || v === false) continue
    if (k.startsWith('on')) e.addEventListener(k.slice(2), v)
    else if (k === 'value') e.value = v
    else e.setAttribute(k, v === true ? '' : v)
  }
  e.append(...children.flat(3).filter((c) => c !== undefined && c !== null && c !== false && c !== ''))
  return e
}

// mark draws one of the marks that stand beside words.
export const mark = (name) => {
  if (!name) return ''
  const e = document.createElementNS(svg, 'svg'), use = document.createElementNS(svg, 'use')
  for (const [k, v] of Object.entries({ class: 'drawing', width: 18, height: 18, 'aria-hidden': 'true', focusable: 'false' })) e.setAttribute(k, v)
  use.setAttribute('href', `#mark-${name}`)
  e.append(use)
  return e
}

// picture shows bytes or a text of SVG; what was shown before is let go.
let shown = []
export const picture = (source, attributes) => {
  const url = URL.createObjectURL(source instanceof Blob ? source : new Blob([source], { type: 'image/svg+xml' }))
  shown.push(url)
  return h('img', { ...attributes, src: url })
}

export const where = (...crumbs) =>
  h('p', { class: 'where' }, crumbs.map(([text, href]) => (href ? h('a', { href }, text) : h('span', {}, text))))

export const answer = (text, sign) => h('h1', {}, mark(sign), text)
export const act = (text, href, stay) => h('p', { class: stay ? 'act stay' : 'act' }, h('a', { class: 'do', href }, text))
export const button = (text, onclick, kind = 'or') => h('p', { class: 'act second' }, h('button', { class: kind, type: 'button', onclick }, text))
export const more = (title, ...children) => h('details', { class: 'more' }, h('summary', {}, title), ...children)

const nameOf = (details) => details.parentElement.id || details.firstElementChild.textContent

// show puts a screen in the place of the one before, and what its pictures were made of goes.
export const show = (title, ...children) => {
  const main = document.querySelector('#main'), whole = `${title} – Tacet`
  const open = document.title === whole ? new Map([...main.querySelectorAll('details')].map((d) => [nameOf(d), d.open])) : new Map()
  document.title = whole
  main.replaceChildren(...children.flat(3).filter((c) => c))
  for (const d of main.querySelectorAll('details')) if (open.has(nameOf(d))) d.open = open.get(nameOf(d)) // drawn anew under the reader's hands
  const here = new Set([...document.querySelectorAll('#main img')].map((i) => i.src))
  for (const u of shown) if (!here.has(u)) URL.revokeObjectURL(u)
  shown = shown.filter((u) => here.has(u))
}

const two = (n) => String(n).padStart(2, '0')
const months = ['Jan', 'Feb', 'Mar', 'Apr', 'May', 'Jun', 'Jul', 'Aug', 'Sep', 'Oct', 'Nov', 'Dec']
export const clock = (ms) => {
  const d = new Date(ms)
  return `${two(d.getHours())}:${two(d.getMinutes())}`
}
export const moment = (ms) => {
  const d = new Date(ms), now = new Date()
  return d.toDateString() === now.toDateString() ? `today ${clock(ms)}` : `${d.getDate()} ${months[d.getMonth()]} ${d.getFullYear()}, ${clock(ms)}`
}
export const count = (n, what) => `${n.toLocaleString('en-GB')} ${what}${n === 1 ? '' : 's'}`
export const megabytes = (n) => (n >= 1e9 ? `${(n / 1e9).toFixed(1)}\u202fGB` : `${Math.max(0.1, n / 1e6).toFixed(1)}\u202fMB`)
