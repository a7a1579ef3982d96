// Package accounts knows who is who on a company's server: companies, their people and devices, how they sign in, and what each role may do.
//
// Map: accounts.go the door; company.go, user.go, device.go the things themselves; enrol.go one-time codes; password.go the rule for
// passwords and their hashes; signin.go and limit.go signing in and its slow-down; token.go short access tokens; refresh.go the rotating
// tokens behind them; browser.go sign-in of a browser; keys.go the server's own keys; rules.go who may do what; register.go
// what the record is told; access.go who may what, said so that it survives a restore; tidy.go what is forgotten; rows.go the tables. Beside them: setup.go the first company of a fresh server; factor.go
// codes from an authenticator; pin.go PINs on shared devices; guest.go links for people from outside; blocklist.go passwords that are
// guessed early; rotate.go new keys; proof.go a device's signature under what it asks; successor.go a device that goes on under another id;
// code.go how codes are written; look.go who looked at what about people; keep.go and erase.go for how long people are known, and
// what ends it; noticewish.go, noticeway.go and noticeout.go who wants news, over which way, and how it went; errors.go what goes wrong.
//
// Three things hold everywhere. Whatever a token says, the person's role and the states of person and device are read from the database
// at every request, so a revoked device is refused at once. Nothing that opens a door is stored as it is: passwords as argon2id, codes and
// tokens as SHA-256. And every query names its company, except the few that find out which company someone belongs to;
// on PostgreSQL row-level security holds them to it.
package accounts
