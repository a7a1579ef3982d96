package app

import (
	"crypto/x509"
	"errors"
	"fmt"
	"log/slog"
	"net/netip"
	"os"

	"tacet/acoustics"
)

type serveCmd struct {
	Listen    string   `default:"127.0.0.1:7410" env:"TACET_LISTEN" help:"Address to listen on; port 0 takes a free one." placeholder:"ADDR"`
	TLSCert   string   `name:"tls-cert" env:"TACET_TLS_CERT" help:"Certificate, PEM." placeholder:"FILE"`
	TLSKey    string   `name:"tls-key" env:"TACET_TLS_KEY" help:"Its key, PEM." placeholder:"FILE"`
	PublicURL string   `name:"public-url" env:"TACET_PUBLIC_URL" help:"Address by which others know this server; the QR codes on sheets printed here lead there." placeholder:"URL"`
	Proxies   []string `name:"trusted-proxy" env:"TACET_TRUSTED_PROXY" help:"Address or network of a proxy whose X-Forwarded-For is believed." placeholder:"CIDR"`
	Factor    string   `name:"second-factor" env:"TACET_SECOND_FACTOR" enum:"auto,required,offered" default:"auto" help:"Whether supervisors, office and owners must set up a code from an authenticator for the pages: required, offered, or auto, which requires it with TLS."`
	Metrics   string   `env:"TACET_METRICS" help:"Loopback address for Prometheus metrics, such as 127.0.0.1:7412; none if left out." placeholder:"ADDR"`
	Quota     int      `name:"photo-quota" env:"TACET_PHOTO_QUOTA" help:"GiB of photos that are kept of each company; devices warn at 90%, and at 100% photos wait on them. No limit if left out." placeholder:"GIB"`
	Private   bool     `name:"notices-to-private" env:"TACET_NOTICES_TO_PRIVATE" help:"News may also be sent to mail servers and addresses inside this server's own network."`
	CA        string   `name:"notices-ca" env:"TACET_NOTICES_CA" help:"Certificates, PEM, that vouch for mail servers and called addresses in place of those that the system trusts." placeholder:"FILE"`
	BehindTLS bool     `name:"behind-tls" env:"TACET_BEHIND_TLS" help:"A proxy in front of this server speaks TLS."`
}

// config is what the flags ask for.
func (c *serveCmd) config(f Folder) (Config, error) {
	proxies, err := readProxies(c.Proxies)
	if err != nil {
		return Config{}, err
	}
	if c.Quota < 0 {
		return Config{}, badFlag("--photo-quota", fmt.Sprint(c.Quota), "give GiB, 1 and up, or leave it out for no limit")
	}
	notices := NoticeConfig{Private: c.Private}
	if c.CA != "" {
		pem, err := os.ReadFile(c.CA)
		if err != nil {
			return Config{}, badFlag("--notices-ca", c.CA, err.Error())
		}
		if notices.Roots = x509.NewCertPool(); !notices.Roots.AppendCertsFromPEM(pem) {
			return Config{}, badFlag("--notices-ca", c.CA, "no certificate in it")
		}
	}
	return Config{Folder: f, Listen: c.Listen, TLSCert: c.TLSCert, TLSKey: c.TLSKey, Secure: c.BehindTLS, Public: c.PublicURL, Proxies: proxies, Factor: c.Factor,
		Metrics: c.Metrics, Notices: notices, Quota: int64(c.Quota) << 30}, nil
}

// Run serves until it is interrupted.
func (c *serveCmd) Run(r *run) error {
	config, err := c.config(r.folder)
	if err != nil {
		return err
	}
	log := slog.New(slog.NewJSONHandler(r.talk, nil))
	config.Log = log
	s, err := Start(r.ctx, config)
	if err != nil {
		return err
	}
	if _, err := fmt.Fprintln(r.out, s.URL); err != nil {
		return errors.Join(err, s.Stop())
	}
	if s.SetUpCode != "" {
		// Not through the log: where logs go, a secret must not.
		if _, err := fmt.Fprintf(r.out, "This server has no company yet. Set it up at %s/set-up with the code %s, good once and for a day.\n", config.knownAs(s.URL), s.SetUpCode); err != nil {
			return errors.Join(err, s.Stop())
		}
	}
	select {
	case <-r.ctx.Done():
		log.Info("stopping")
		return s.Stop()
	case err := <-s.Ended():
		return errors.Join(err, s.Stop())
	}
}

func readProxies(texts []string) ([]netip.Prefix, error) {
	var list []netip.Prefix
	for _, text := range texts {
		p, err := netip.ParsePrefix(text)
		if ip, bare := netip.ParseAddr(text); bare == nil {
			p, err = ip.Unmap().Prefix(ip.Unmap().BitLen())
		}
		if err != nil {
			return nil, badFlag("--trusted-proxy", text, "give an address such as 10.0.0.5 or a network such as 10.0.0.0/24")
		}
		list = append(list, p)
	}
	return list, nil
}

func badFlag(flag, value, hint string) error {
	return &acoustics.InputError{Field: flag, Value: value, Hint: hint}
}
