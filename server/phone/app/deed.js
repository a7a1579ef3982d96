// What is recorded without a signal: a layer, a check, a photo, a substitution, a note. Each is at most three taps from its surface.
import { present } from './account.js'
import { formOf } from './form.js'
import { cautions, gone } from './jobs.js'
import { one, own } from './kept.js'
import { share, within } from './number.js'
import { record } from './pen.js'
import { answer, h, mark, show, where } from './screen.js'
import { place } from './surface.js'

const only = (o) => Object.fromEntries(Object.entries(o).filter(([, v]) => v !== undefined && v !== ''))

const verdicts = { pass: 'passed', fail: 'failed', could_not_see: 'could not be seen', not_applicable: 'does not apply' }

const unique = (refs) => refs.filter((r, i) => refs.findIndex((q) => q.h === r.h && q.as === r.as) === i).slice(0, 64)

// Each kind makes of what was filled in: body, refs, and the words in which it is shown.
const kinds = {
  install: ({ k, l, v, mine }) => {
    // What was found here on the layer that goes under cover is what this was done in view of.
    const seen = mine.filter((e) => e.kind === 'check' && e.on.layer === l.n - 1 && k.data.rules[e.on.check]?.stop).map((e) => ({ h: e.h, as: 'sees' }))
    return { kind: 'install', body: only({ share: share(v.share), mass_kg_m2: v.mass_kg_m2, material: v.material, note: v.note }),
      refs: unique([...l.install_refs, ...seen]), says: `${v.share} % in place${v.mass_kg_m2 ? `, ${v.mass_kg_m2} kg/m²` : ''}${v.material ? `, ${v.material}` : ''}` }
  },
  substitute: ({ l, v, mine }) => {
    const changed = { ...l.new }
    for (const [name, value] of Object.entries(v)) if (name.startsWith('layer_new.')) value === '' ? delete changed[name.slice(10)] : (changed[name.slice(10)] = value)
    const seen = mine.filter((e) => e.kind === 'substitute' && e.on.layer === l.n).map((e) => ({ h: e.h, as: 'sees' }))
    const body = only({ state: v.state, reason: v.reason })
    if (v.state !== 'refused') body.layer_new = changed
    return { kind: 'substitute', body, refs: unique([...l.substitute_refs, ...seen]), says: `substitution ${v.state === 'asked' ? 'asked for' : 'told of'}: ${v.reason}` }
  },
  photo: ({ v }) => ({ kind: 'photo', body: only({ note: v.note }), refs: [], says: 'photo' }),
  note: ({ v }) => ({ kind: 'note', body: only({ text: v.text }), refs: [], says: v.text }),
}

// outside is how a measured value misses what it has to be on this surface, '' where it does not.
const outside = (c, name, value) => {
  const wanted = c.passes?.[name]
  return wanted && !within(value, { min: wanted.min ?? -Infinity, max: wanted.max }) ? wanted.misses : ''
}

const checkOf = ({ c, v, rule, photos }) => {
  const measured = {}
  for (const [name, value] of Object.entries(v)) if (name.startsWith('measured.') && value !== '') measured[name.slice(9)] = value
  if (v.result === 'not_applicable' && !v.note) throw Object.assign(new Error(rule.why_not), { fields: [['note', rule.why_not]] })
  const unit = (name) => rule.form.fields.find((f) => f.name === name).unit ?? ''
  const doubts = Object.entries(c.passes ?? {}).map(([name, { wanted }]) => {
    const value = v[name] ?? ''
    if (value === '') return [name, wanted]
    return [name, outside(c, name, value) && `${value}\u202f${unit(name)} is ${outside(c, name, value)}. Choose Failed, or say in the note why it passes.`]
  }).filter(([, says]) => says)
  if (v.result === 'pass' && !v.note && doubts.length) throw Object.assign(new Error(doubts[0][1]), { fields: doubts })
  const refs = [...c.refs]
  if (v.over) refs.push({ h: v.over, as: 'over' })
  const values = Object.entries(measured).map(([key, n]) => `${rule.form.fields.find((f) => f.name === `measured.${key}`).label.toLowerCase()} ${n}\u202f${unit(`measured.${key}`)}${outside(c, `measured.${key}`, n) && `, ${outside(c, `measured.${key}`, n)}`}`)
  const body = only({ result: v.result, note: v.note, certificate: v.certificate })
  if (values.length) body.measured = measured
  body.evidence = v.evidence ? Number(v.evidence) : 3 // what is claimed; the office caps it by what is shown
  return { kind: 'check', body, refs: unique(refs), says: [`${c.code} ${verdicts[v.result]}`, ...values, photos.length && `${photos.length} photo${photos.length === 1 ? '' : 's'}`].filter(Boolean).join(', ') }
}

// deedPage is the form for one of them.
export const deedPage = async (job, code, number, what) => {
  const { k, s } = code === undefined ? { k: await one(job) } : await place(job, code)
  if (!k || (code !== undefined && !s)) return gone()
  const layer = Number(number ?? 0), l = s?.layers.find((x) => x.n === layer), who = await present()
  const mine = s ? await own(k, s.code) : []
  const c = s && (l ? l.checks : s.whole).find((x) => x.code === what)
  const rule = c && k.data.rules[what]
  let form = rule?.form ?? { install: l?.install, substitute: l?.substitute, photo: k.data.photo, note: k.data.note }[what]
  if (!form || (layer && !l)) return gone()
  const placed = [s && s.code, layer && `layer ${layer}`].filter(Boolean).join(', ')
  if (rule) form = answeredBefore(asking(form, c), c, mine.filter((e) => e.kind === 'check' && (e.on.layer ?? 0) === layer && e.on.check === what).at(-1))
  if (what === 'install') form = left(form, mine.filter((e) => e.kind === 'install' && e.on.layer === layer))
  const put = (n) => settled({ layer: n, what: 'install' }, mine)
  const inTheWay = [...missing((form.missing ?? []).filter((n) => !put(n))), ...(form.until ?? []).filter((u) => !settled(u, mine) && (!u.after || put(u.after))).map((u) => u.says)]
  const stops = [...form.stops, ...inTheWay]
  if (form.reason && inTheWay.length > 0) form = against(form)
  const back = s ? `#/j/${job}/s/${encodeURIComponent(s.code)}` : `#/j/${job}`
  const filled = formOf(form, async (v, photos) => {
    const made = rule ? checkOf({ c, v, rule, photos }) : kinds[what]({ k, l, v, mine })
    const on = only({ surface: s?.code, layer: layer || undefined, check: rule ? what : undefined })
    if (what !== 'photo') await record({ ...made, job, on, photos }, who)
    else while (photos.length > 0) { // each is an entry of its own, and what is saved is not saved again where a later one finds no space
      await record({ ...made, job, on, photos: [photos[0]] }, who)
      photos.shift()
    }
    location.hash = back
  })
  const title = rule || what === 'install' || what === 'substitute' ? form.title : what === 'photo' ? `A photo of ${placed || 'the job'}` : `A note about ${placed || 'the job'}`
  show(title, where(s ? [`${s.code} ${s.where}`, back] : [k.data.name, back]), answer(title + (rule && layer ? `, layer ${layer}` : '')),
    stops.length > 0 && h('ul', { class: 'warnings stops' }, stops.map((p) => h('li', {}, mark('stop'), h('span', {}, p)))),
    form.lead.map((p) => h('p', { class: 'also' }, p)), filled,
    rule && h('dl', { class: 'asked' }, rule.asked.map(([name, says]) => h('div', {}, h('dt', {}, name), h('dd', {}, says)))),
    s && cautions(s.cautions))
}

// missing says which layers beneath one are not in place.
const missing = (ns) => (ns.length === 0 ? [] : [ns.length === 1 ? `Layer ${ns[0]} beneath it is not recorded in place.`
  : `Layers ${ns.slice(0, -1).join(', ')} and ${ns.at(-1)} beneath it are not recorded in place.`])

// settled tells whether a stop that was taken along is about what was recorded here since.
const settled = (u, mine) => mine.some((e) => (e.on.layer ?? 0) === u.layer && (u.what === 'install' ? e.kind === 'install' : e.on.check === u.what && !/failed/.test(e.shown)))

// against asks whoever goes on against what is in the way to say why, as the office's page does.
const against = (form) => ({ ...form, submit: form.submit + form.reason.submit,
  fields: form.fields.map((f) => (f.name === 'note' ? { ...f, hint: form.reason.says, missing: form.reason.says } : f)) })

// asking says beside each value what it has to be on this surface.
const asking = (form, c) => ({ ...form, fields: form.fields.map((f) => (c.passes?.[f.name] ? { ...f, hint: c.passes[f.name].asks } : f)) })

// answeredBefore asks whether a new answer takes the place of the person's earlier one, as the office's page does.
const answeredBefore = (form, c, here) => {
  const before = here ? { h: here.h, says: here.shown, fail: /failed/.test(here.shown) } : c.own
  if (!before) return form
  return { ...form, fields: [...form.fields, { kind: 'choice', name: 'over', label: `You have answered this before: ${before.says}`, options: [
    { value: before.h, label: 'This takes its place', checked: !before.fail }, { value: '', label: 'This stands beside it', checked: before.fail }] }] }
}

// left offers what is not recorded in place yet, here or before.
const left = (form, installs) => {
  if (installs.length === 0) return form
  const fields = form.fields.map((f) => {
    if (f.name !== 'share') return f
    const rest = Math.max(0, Number(f.value) - installs.reduce((n, e) => n + Number(JSON.parse(e.b).share) * 100, 0))
    return { ...f, value: String(Math.round(rest * 1e4) / 1e4), range: { ...f.range, max: rest } }
  })
  return { ...form, fields, lead: [...form.lead, 'Part of it is recorded on this phone and not sent yet.'] }
}
