// What a message may carry. It is halved when one did not get through and doubled when one did; and of what a line lets through between
// two cuts, a message may have a twelfth: it goes again as a whole when it is cut, which costs half of one on average, and a cut that the
// browser hides is learned of one message later.
const least = 2048, most = 512 * 1024, share = 12
const firstPiece = 16 * 1024, mostPiece = 256 * 1024
const pieceTime = 2000 // ms: a record that is made meanwhile waits for no more

const budgets = { push: 64 * 1024, pull: 64 * 1024, piece: firstPiece }
let through = 0, between = 0 // bytes since the last cut, and between cuts, the later ones counting more; 0 while none was met

const fits = (otherwise) => Math.max(least, Math.floor(Math.max(through, between) / share), between === 0 ? otherwise : 0)

// spend is the size of the next message of a kind: push, pull, piece.
export const spend = (kind) => (kind === 'piece' ? Math.min(budgets.piece, fits(firstPiece), mostPiece) : Math.min(budgets[kind], fits(most)))

// arrived notes a message that got through, and how long a piece took.
export const arrived = (kind, bytes, took = 0) => {
  through += bytes
  if (kind !== 'piece' || (bytes > 0 && took < pieceTime / 2)) budgets[kind] = Math.min(most, budgets[kind] * 2)
  if (took > 2 * pieceTime) smaller(kind)
}

// failed notes one that did not: where something had come through before, the line was cut.
export const failed = (kind, cut) => {
  if (cut) cutUnseen()
  smaller(kind)
}

// cutUnseen notes a cut after which the message got through all the same.
export const cutUnseen = () => {
  if (through > 0) [between, through] = [between === 0 ? through : Math.floor((between + through) / 2), 0]
}

const smaller = (kind) => (budgets[kind] = Math.max(least, Math.floor(budgets[kind] / 2)))

// known is what comes through between two cuts, to be kept for when the page is opened again, and expect takes it up.
export const known = () => (between === 0 ? 0 : Math.max(between, through))
export const expect = (bytes) => {
  if (through === 0 && between === 0) between = bytes ?? 0
}
