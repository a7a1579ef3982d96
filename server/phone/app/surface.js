// One surface: the answer, the section, a line for each layer, one action. What it concludes is the server's; what was recorded here
// since stands beside it with its mark.
import { cautions, gone, recordLine } from './jobs.js'
import { one, old, own } from './kept.js'
import { act, answer, count, h, mark, moment, more, picture, show, where } from './screen.js'
import { showCode } from './code.js'

const at = (k, s, layer, what) => `#/j/${k.job}/s/${encodeURIComponent(s.code)}/${layer}/${what}`

const answered = (mine, layer, code) => mine.filter((e) => e.kind === 'check' && (e.on.layer ?? 0) === layer && e.on.check === code).at(-1)

const checks = (k, s, layer, list, mine) =>
  h('ul', { class: 'checks' }, list.map((c) => {
    const rule = k.data.rules[c.code], here = answered(mine, layer, c.code)
    return h('li', {}, h('a', { href: at(k, s, layer, c.code) }, h('span', { class: 'code' }, c.code),
      h('span', { class: 'what' }, rule.title, rule.stop && h('span', { class: 'stop' }, mark('stop'), 'stop')),
      h('span', { class: 'state' }, here ? [mark('waiting'), h('span', {}, here.shown)] : [mark(c.mark), h('span', {}, c.state)])))
  }))

// still lists checks that are open, as the office's page does: what is to be done in words, its state only where it has one.
const still = (k, s, list, mine) =>
  h('ul', { class: 'checks still' }, list.map(({ layer, code }) => {
    const several = list[0].layer !== list.at(-1).layer
    const c = (layer ? s.layers.find((l) => l.n === layer).checks : s.whole).find((c) => c.code === code), here = answered(mine, layer, code)
    return h('li', {}, h('a', { href: at(k, s, layer, code) }, h('span', { class: 'code' }, code), h('span', { class: 'what' }, k.data.rules[code].title + (several && layer ? `, layer ${layer}` : '')),
      here ? h('span', { class: 'state' }, mark('waiting'), h('span', {}, here.shown)) : c.mark !== 'open' && h('span', { class: 'state' }, mark(c.mark), h('span', {}, c.state))))
  }))

// place finds what an address names among what was taken along.
export const place = async (job, code) => {
  const k = await one(job)
  return { k, s: k?.data.surfaces.find((s) => s.code === code) }
}

export const surfacePage = async (job, code) => {
  const { k, s } = await place(job, code)
  if (!s) return gone()
  const mine = await own(k, s.code)
  const layers = s.layers.map((l) => {
    const here = mine.filter((e) => e.on.layer === l.n)
    const put = here.filter((e) => e.kind === 'install').at(-1)
    return h('li', { id: `layer-${l.n}` }, h('details', {}, h('summary', {}, h('span', { class: 'n' }, l.n), h('span', { class: 'what' }, l.what),
      h('span', { class: 'figures' }, l.figures.map((f) => h('span', { class: 'q' }, f))),
      h('span', { class: 'state' }, put ? [mark('waiting'), h('span', {}, put.shown)] : [mark(l.mark) || h('span', { class: 'blank' }), h('span', {}, l.state)])),
    h('div', { class: 'inside' }, l.says.map((p) => h('p', {}, p)),
      l.checks.length > 0 && [h('h3', {}, 'Checks'), checks(k, s, l.n, l.checks, mine)],
      h('p', { class: 'deeds' }, h('a', { href: at(k, s, l.n, 'install') }, 'Record it in place'), h('a', { href: at(k, s, l.n, 'photo') }, 'Take a photo'),
        h('a', { href: at(k, s, l.n, 'substitute') }, 'Ask for a substitution'), h('a', { href: at(k, s, l.n, 'note') }, 'Write a note')),
      here.length > 0 && [h('h3', {}, 'Recorded here since'), h('ul', { class: 'records' }, here.map(recordLine))],
      l.records.length > 0 && [h('h3', {}, 'Recorded before'), h('ul', { class: 'records' }, l.records.map((r) => h('li', {}, h('p', {}, r.says), h('p', { class: 'by' }, `${r.by}, ${r.at}`), r.note && h('p', { class: 'note' }, r.note))))])))
  })
  const next = nextStep(k, s, mine), elsewhere = mine.filter((e) => !e.on.layer)
  show(`${s.code}: ${s.answer}`, where([k.data.name, `#/j/${job}`]), answer(mine.length ? `As taken along: ${s.answer}` : s.answer, s.mark),
    s.heard && h('p', { class: 'also heard' }, s.heard), s.open?.length > 0 && still(k, s, s.open, mine), s.also && h('p', { class: 'also' }, s.also), s.rest?.length > 0 && more(s.rest_says, still(k, s, s.rest, mine)),
    h('p', { class: old(k) ? 'also wait' : 'also' }, `As it stood when it was taken along, ${moment(k.took)}.`, mine.length > 0 && ` Since then ${count(mine.length, 'record')} of yours, below; what follows from ${mine.length === 1 ? 'it' : 'them'} is worked out at the office.`),
    h('figure', { class: 'section' }, picture(s.section, { alt: s.alt })),
    h('h2', { class: 'aside' }, 'Layers'), h('ol', { class: 'layers' }, layers),
    next && act(next.text, at(k, s, next.layer, next.what), true),
    s.warnings.length > 0 && h('section', {}, h('h2', {}, 'Warnings'), h('ul', { class: 'warnings' }, s.warnings.map((w) => h('li', {}, h('span', {}, w))))),
    h('div', { class: 'rest' }, s.whole.length > 0 && more('Checks of the whole surface', checks(k, s, 0, s.whole, mine)), cautions(s.cautions)),
    elsewhere.length > 0 && h('section', {}, h('h2', {}, 'Recorded here since, on the whole surface'), h('ul', { class: 'records' }, elsewhere.map(recordLine))),
    h('p', { class: 'deeds' }, h('a', { href: at(k, s, 0, 'photo') }, 'Take a photo'), h('a', { href: at(k, s, 0, 'note') }, 'Write a note'), h('span', { class: 'code-words' }, `Sheet ${showCode(s.sheet)}, ${s.size}`)))
}

// nextStep is the page's one action: what the server said is next, and once that is recorded here, whatever of it is still open: the
// checks of the layer, then the next layer. It is an offer, not a judgement.
const nextStep = (k, s, mine) => {
  const did = (layer, what) => mine.some((e) => (e.on.layer ?? 0) === layer && (what === 'install' ? e.kind === 'install' : e.on.check === what))
  const known = s.do.what && (s.do.what === 'install' || /^K/.test(s.do.what))
  if (known && !did(s.do.layer, s.do.what)) return s.do
  if (!mine.length && !known) return null
  for (const l of s.layers) {
    const open = (l.mark === 'open' && l.install.fields[0].value !== '0') || did(l.n, 'install')
    if (!open) continue
    if (!did(l.n, 'install')) return { text: l.install.submit, layer: l.n, what: 'install' }
    const c = l.checks.find((c) => k.data.rules[c.code].stop && c.mark !== 'passed' && !did(l.n, c.code))
    if (c) return { text: `Record ${c.code}: ${k.data.rules[c.code].title.toLowerCase()}`, layer: l.n, what: c.code }
  }
  return null
}
