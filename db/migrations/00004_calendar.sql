-- Secret addresses under which a keeper's calendar fetches reminders. Only a
-- hash of the secret is kept; a revoked address stays with its day.

-- +goose Up
CREATE TABLE calendar_link (
  id          uuid        PRIMARY KEY,
  secret_sha256 bytea     NOT NULL,
  keeper_id   uuid        NOT NULL REFERENCES keeper (id),
  made_at     timestamptz NOT NULL DEFAULT now(),
  revoked_at  timestamptz,
  CONSTRAINT calendar_link_hash_is_32_bytes CHECK (octet_length(secret_sha256) = 32),
  CONSTRAINT calendar_link_revoked_after_it_was_made CHECK (revoked_at >= made_at)
);

CREATE UNIQUE INDEX calendar_link_secret_once ON calendar_link (secret_sha256);

GRANT SELECT, INSERT, UPDATE ON calendar_link TO skepwood_app;

-- +goose Down
DROP TABLE calendar_link;
