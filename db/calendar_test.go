package db_test

import (
	"testing"

	"github.com/google/uuid"
	"github.com/stretchr/testify/require"

	"skepwood/db"
)

func TestCalendarAddressIsSecretAndRevocable(t *testing.T) {
	t.Parallel()
	b := setup(t)
	id := uuid.Must(uuid.NewV7())
	secret, err := b.store.NewCalendarLink(t.Context(), id, b.keeper.ID)
	require.NoError(t, err)
	require.Len(t, secret, 43, "32 random bytes")
	again, err := b.store.NewCalendarLink(t.Context(), id, b.keeper.ID)
	require.NoError(t, err)
	require.Empty(t, again, "a form sent twice makes one address")
	link, err := b.store.CalendarLink(t.Context(), secret)
	require.NoError(t, err)
	require.Equal(t, id, link.ID)

	var stored string
	require.NoError(t, b.store.Pool().QueryRow(t.Context(), "SELECT l::text FROM calendar_link l").Scan(&stored))
	require.NotContains(t, stored, secret, "only its hash is kept")
	for _, wrong := range []string{"", "x", secret + "A", secret[1:]} {
		_, err := b.store.CalendarLink(t.Context(), wrong)
		require.ErrorIs(t, err, db.ErrNotFound)
	}
	require.NoError(t, b.store.RevokeCalendarLink(t.Context(), id))
	require.NoError(t, b.store.RevokeCalendarLink(t.Context(), id))
	_, err = b.store.CalendarLink(t.Context(), secret)
	require.ErrorIs(t, err, db.ErrNotFound)
	links, err := b.store.CalendarLinks(t.Context())
	require.NoError(t, err)
	require.Empty(t, links)
	require.ErrorIs(t, b.store.RevokeCalendarLink(t.Context(), uuid.Must(uuid.NewV7())), db.ErrNotFound)
	_, err = b.store.Pool().Exec(t.Context(), "DELETE FROM calendar_link")
	require.ErrorContains(t, err, "42501")
}
