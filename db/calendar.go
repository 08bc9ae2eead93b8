package db

import (
	"context"
	"crypto/rand"
	"crypto/sha256"
	"encoding/base64"
	"fmt"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"
)

// CalendarLink is a secret address of the calendar feed. The secret itself is
// known only to whoever it was shown to.
type CalendarLink struct {
	ID       uuid.UUID
	KeeperID uuid.UUID
	MadeAt   time.Time
}

// NewCalendarLink makes a secret address and returns its secret, which cannot
// be shown again. The same id twice returns an empty secret and makes nothing.
func (s *Store) NewCalendarLink(ctx context.Context, id, keeper uuid.UUID) (string, error) {
	raw := make([]byte, 32)
	if _, err := rand.Read(raw); err != nil {
		return "", fmt.Errorf("draw a secret: %w", err)
	}
	secret := base64.RawURLEncoding.EncodeToString(raw)
	tag, err := s.pool.Exec(ctx, `INSERT INTO calendar_link (id, secret_sha256, keeper_id, made_at) VALUES ($1, $2, $3, $4) ON CONFLICT (id) DO NOTHING`,
		id, hashSecret(secret), keeper, s.Now())
	if err != nil {
		return "", fmt.Errorf("store a calendar address: %w", err)
	}
	if tag.RowsAffected() == 0 {
		return "", nil
	}
	return secret, nil
}

// hashSecret needs no salt: a secret is 32 random bytes, which no list holds.
func hashSecret(secret string) []byte {
	sum := sha256.Sum256([]byte(secret))
	return sum[:]
}

// CalendarLinks lists the addresses that are in force, the newest first.
func (s *Store) CalendarLinks(ctx context.Context) ([]CalendarLink, error) {
	rows, err := s.pool.Query(ctx, `SELECT id, keeper_id, made_at FROM calendar_link WHERE revoked_at IS NULL ORDER BY made_at DESC, id`)
	if err != nil {
		return nil, fmt.Errorf("read the calendar addresses: %w", err)
	}
	return pgx.CollectRows(rows, pgx.RowToStructByPos[CalendarLink])
}

// CalendarLink returns the address in force that has this secret, or
// ErrNotFound.
func (s *Store) CalendarLink(ctx context.Context, secret string) (CalendarLink, error) {
	rows, err := s.pool.Query(ctx, `SELECT id, keeper_id, made_at FROM calendar_link WHERE secret_sha256 = $1 AND revoked_at IS NULL`, hashSecret(secret))
	if err != nil {
		return CalendarLink{}, fmt.Errorf("read a calendar address: %w", err)
	}
	link, err := pgx.CollectExactlyOneRow(rows, pgx.RowToStructByPos[CalendarLink])
	return link, notFound(err, "calendar address")
}

// RevokeCalendarLink ends an address; one that was ended already stays so.
func (s *Store) RevokeCalendarLink(ctx context.Context, id uuid.UUID) error {
	tag, err := s.pool.Exec(ctx, `UPDATE calendar_link SET revoked_at = coalesce(revoked_at, greatest(made_at, $2)) WHERE id = $1`, id, s.Now())
	if err != nil {
		return fmt.Errorf("revoke a calendar address: %w", err)
	}
	if tag.RowsAffected() == 0 {
		return fmt.Errorf("calendar address: %w", ErrNotFound)
	}
	return nil
}
