package accounts

// The rows of the accounts tables. They never leave this package. Times are milliseconds since 1970, so that no zone can creep in.

type companyRow struct {
	Co     string `gorm:"primaryKey"`
	Name   string
	MadeMS int64
}

type loginRow struct {
	Login  string `gorm:"primaryKey"`
	Co     string
	Person string
}

type userRow struct {
	Co       string `gorm:"primaryKey"`
	Person   string `gorm:"primaryKey"`
	Login    string
	Name     string
	Role     string
	Password string
	State    string
	MadeMS   int64
	Gen      int64
	EndedMS  *int64
}

type deviceRow struct {
	Co     string `gorm:"primaryKey"`
	Device string `gorm:"primaryKey"`
	Key    []byte
	Name   string
	State  string
	MadeMS int64
}

type holderRow struct {
	Co     string `gorm:"primaryKey"`
	Device string `gorm:"primaryKey"`
	Person string `gorm:"primaryKey"`
	MadeMS int64
}

type codeRow struct {
	Hash    []byte `gorm:"primaryKey"`
	Co      string
	Person  string
	MadeMS  int64
	UntilMS int64
	UsedMS  *int64
	Device  *string
}

type refreshRow struct {
	Co      string `gorm:"primaryKey"`
	Hash    []byte `gorm:"primaryKey"`
	Family  string
	Device  string
	Person  string
	MadeMS  int64
	UntilMS int64
	LastMS  int64
	UsedMS  *int64
	EndedMS *int64
}

type browserRow struct {
	Co      string `gorm:"primaryKey"`
	Hash    []byte `gorm:"primaryKey"`
	Person  string
	MadeMS  int64
	UntilMS int64
	LastMS  int64
}

type attemptRow struct {
	Subject  string `gorm:"primaryKey"`
	Failures int
	LastMS   int64
	NextMS   int64
}

type setupRow struct {
	Hash    []byte `gorm:"primaryKey"`
	UntilMS int64
}

type factorRow struct {
	Co          string `gorm:"primaryKey"`
	Person      string `gorm:"primaryKey"`
	Sealed      []byte
	MadeMS      int64
	ConfirmedMS *int64
	LastStep    int64
}

type pinRow struct {
	Co       string `gorm:"primaryKey"`
	Device   string `gorm:"primaryKey"`
	Person   string `gorm:"primaryKey"`
	Hash     string
	Failures int
	MadeMS   int64
}

type guestRow struct {
	Co      string `gorm:"primaryKey"`
	Guest   string `gorm:"primaryKey"`
	Hash    []byte
	Job     string
	Name    string
	MadeBy  string
	MadeMS  int64
	UntilMS int64
	EndedMS *int64
	SeenMS  *int64
}

type noticeWayRow struct {
	Co       string `gorm:"primaryKey"`
	Host     string
	Port     int
	TLS      string `gorm:"column:tls"`
	Sender   string
	Login    string
	Password []byte
	Hook     string
	HookKey  []byte
	Kinds    string
	NamesJob int
}

type noticeWishRow struct {
	Co          string `gorm:"primaryKey"`
	Person      string `gorm:"primaryKey"`
	Mail        string
	Kinds       string
	QuietFrom   int
	QuietTo     int
	EveryMin    int
	ConfirmedMS *int64
	LastMS      int64
}

type noticeToldRow struct {
	Co     string `gorm:"primaryKey"`
	Person string `gorm:"primaryKey"`
	Thing  string `gorm:"primaryKey"`
	MadeMS int64
}

type noticeOutRow struct {
	Co      string `gorm:"primaryKey"`
	Notice  string `gorm:"primaryKey"`
	Way     string
	Person  string
	Body    string
	MadeMS  int64
	NextMS  int64
	LeaseMS int64
	Tries   int
	State   string
	Says    string
	DoneMS  *int64
}

type lookRow struct {
	Co     string `gorm:"primaryKey"`
	Hour   int64  `gorm:"primaryKey;autoIncrement:false"`
	Person string `gorm:"primaryKey"`
	What   string `gorm:"primaryKey"`
	About  string `gorm:"primaryKey"`
	Times  int64
	LastMS int64
}

type keepRow struct {
	Co    string `gorm:"primaryKey"`
	Class string `gorm:"primaryKey"`
	Days  int

	Person string // who ordered that it goes by itself; empty: nobody
	Day    int64  // on which that was done last, since 1970
}

func (lookRow) TableName() string { return "account_look" }
func (keepRow) TableName() string { return "account_keep" }

func (noticeWayRow) TableName() string  { return "account_notice_way" }
func (noticeWishRow) TableName() string { return "account_notice_wish" }
func (noticeToldRow) TableName() string { return "account_notice_told" }
func (noticeOutRow) TableName() string  { return "account_notice_out" }

func (setupRow) TableName() string   { return "account_setup" }
func (factorRow) TableName() string  { return "account_factor" }
func (pinRow) TableName() string     { return "account_pin" }
func (guestRow) TableName() string   { return "account_guest" }
func (companyRow) TableName() string { return "account_company" }
func (loginRow) TableName() string   { return "account_login" }
func (userRow) TableName() string    { return "account_user" }
func (deviceRow) TableName() string  { return "account_device" }
func (holderRow) TableName() string  { return "account_holder" }
func (codeRow) TableName() string    { return "account_code" }
func (refreshRow) TableName() string { return "account_refresh" }
func (browserRow) TableName() string { return "account_browser" }
func (attemptRow) TableName() string { return "account_attempt" }

// What a person or a device is.
const (
	active  = "active"
	ended   = "ended"
	revoked = "revoked"
)
