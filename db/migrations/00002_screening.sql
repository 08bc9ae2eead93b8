-- House policy: where the published rules leave room, the keeper's choice.

-- +goose Up
CREATE TABLE policy (
  id           uuid        PRIMARY KEY,
  setting      text        NOT NULL,
  verdict      text        NOT NULL,
  note         text        NOT NULL DEFAULT '',
  keeper_id    uuid        NOT NULL REFERENCES keeper (id),
  received_at  timestamptz NOT NULL DEFAULT now(),
  version      integer     NOT NULL DEFAULT 1,
  struck_at    timestamptz,
  CONSTRAINT policy_setting_present CHECK (length(setting) BETWEEN 1 AND 60),
  CONSTRAINT policy_verdict_known CHECK (verdict IN ('inside', 'outside', 'hold', 'never')),
  CONSTRAINT policy_note_bounded CHECK (length(note) <= 10000)
);

CREATE UNIQUE INDEX policy_setting_once ON policy (setting) WHERE struck_at IS NULL;
CREATE INDEX policy_newest ON policy (received_at DESC, id DESC);
CREATE INDEX lot_by_rule_version ON lot (rule_version) WHERE struck_at IS NULL;

ALTER TABLE history DROP CONSTRAINT history_entity_known;
ALTER TABLE history ADD CONSTRAINT history_entity_known CHECK (entity IN
  ('keeper', 'source', 'pickup', 'lot', 'finding', 'board', 'defect', 'reading', 'photo', 'setting', 'policy'));

GRANT SELECT, INSERT, UPDATE ON policy TO skepwood_app;

-- +goose Down
DROP INDEX lot_by_rule_version;
DELETE FROM history WHERE entity = 'policy';
ALTER TABLE history DROP CONSTRAINT history_entity_known;
ALTER TABLE history ADD CONSTRAINT history_entity_known CHECK (entity IN
  ('keeper', 'source', 'pickup', 'lot', 'finding', 'board', 'defect', 'reading', 'photo', 'setting'));
DROP TABLE policy;
