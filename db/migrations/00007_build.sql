-- Building: own parts, cutting plans, what they make of each board, and the
-- blanks that came of it.

-- +goose Up
-- A keeper's own part, beside the house's list; parts of one kit share its name.
CREATE TABLE part (
  id           uuid        PRIMARY KEY,
  kit          text        NOT NULL,
  name         text        NOT NULL,
  count        integer     NOT NULL DEFAULT 1,
  thickness_nm bigint      NOT NULL,
  width_nm     bigint      NOT NULL,
  length_nm    bigint      NOT NULL,
  zone         text        NOT NULL,
  faces        integer     NOT NULL DEFAULT 0,
  glue         boolean     NOT NULL DEFAULT false,
  note         text        NOT NULL DEFAULT '',
  keeper_id    uuid        NOT NULL REFERENCES keeper (id),
  received_at  timestamptz NOT NULL DEFAULT now(),
  version      integer     NOT NULL DEFAULT 1,
  struck_at    timestamptz,
  CONSTRAINT part_named CHECK (length(kit) BETWEEN 1 AND 100 AND length(name) BETWEEN 1 AND 100),
  CONSTRAINT part_count_in_a_kit CHECK (count BETWEEN 1 AND 500),
  CONSTRAINT part_size_positive CHECK (thickness_nm > 0 AND width_nm > 0 AND length_nm > 0),
  CONSTRAINT part_zone_known CHECK (zone IN ('inside', 'outside')),
  CONSTRAINT part_faces_of_a_board CHECK (faces BETWEEN 0 AND 2),
  CONSTRAINT part_note_bounded CHECK (length(note) <= 10000)
);

CREATE UNIQUE INDEX part_once_in_its_kit ON part (lower(kit), lower(name)) WHERE struck_at IS NULL;
CREATE INDEX part_newest ON part (received_at DESC, id DESC);

-- A plan as it was made: what was asked, by which rules, and the answer as a
-- document, so that its page says the same ever after.
CREATE TABLE plan (
  id           uuid        PRIMARY KEY,
  name         text        NOT NULL,
  objective    text        NOT NULL,
  pattern      text        NOT NULL,
  rip_kerf_nm  bigint      NOT NULL,
  crosscut_kerf_nm bigint  NOT NULL,
  end_trim_nm  bigint      NOT NULL,
  length_allowance_nm bigint NOT NULL,
  joint_allowance_nm bigint NOT NULL,
  plane_allowance_nm bigint NOT NULL,
  clearance_nm bigint      NOT NULL,
  glue_strip_nm bigint     NOT NULL,
  offcut_length_nm bigint  NOT NULL,
  offcut_width_nm bigint   NOT NULL,
  wettest      double precision NOT NULL,
  wet_why      text        NOT NULL DEFAULT '',
  unswept_why  text        NOT NULL DEFAULT '',
  only_codes   text        NOT NULL DEFAULT '',
  wants        text        NOT NULL,
  status       text        NOT NULL,
  value        bigint      NOT NULL,
  bound        bigint      NOT NULL,
  program      text        NOT NULL DEFAULT '',
  follows_id   uuid        REFERENCES plan (id),
  changed      text        NOT NULL DEFAULT '',
  document     text        NOT NULL,
  notes        text        NOT NULL DEFAULT '',
  keeper_id    uuid        NOT NULL REFERENCES keeper (id),
  received_at  timestamptz NOT NULL DEFAULT now(),
  version      integer     NOT NULL DEFAULT 1,
  struck_at    timestamptz,
  CONSTRAINT plan_named CHECK (length(name) BETWEEN 1 AND 200),
  CONSTRAINT plan_objective_known CHECK (objective IN ('most_value', 'fewest_boards', 'least_wood', 'short_first')),
  CONSTRAINT plan_pattern_known CHECK (pattern IN ('rip2', 'crosscut2', 'rip3', 'crosscut3', 'rip2trim', 'crosscut2trim', 'guillotine_free')),
  CONSTRAINT plan_lengths_not_negative CHECK (least(rip_kerf_nm, crosscut_kerf_nm, end_trim_nm, length_allowance_nm, joint_allowance_nm,
    plane_allowance_nm, clearance_nm, glue_strip_nm, offcut_length_nm, offcut_width_nm) >= 0),
  CONSTRAINT plan_status_known CHECK (status IN ('optimal', 'bounded', 'infeasible', 'short')),
  CONSTRAINT plan_not_its_own_follower CHECK (follows_id <> id),
  CONSTRAINT plan_document_bounded CHECK (length(document) <= 1000000),
  CONSTRAINT plan_notes_bounded CHECK (length(notes) <= 10000)
);

CREATE INDEX plan_newest ON plan (received_at DESC, id DESC);
CREATE INDEX plan_by_follows ON plan (follows_id) WHERE follows_id IS NOT NULL;

-- What a plan makes of one board, and what became of it at the saw.
CREATE TABLE layout (
  id           uuid        PRIMARY KEY,
  plan_id      uuid        NOT NULL REFERENCES plan (id),
  board_id     uuid        NOT NULL REFERENCES board (id),
  number       integer     NOT NULL,
  state        text        NOT NULL DEFAULT 'planned',
  said         text        NOT NULL DEFAULT '',
  planned_m2   double precision NOT NULL DEFAULT 0,
  drawing      text        NOT NULL,
  keeper_id    uuid        NOT NULL REFERENCES keeper (id),
  received_at  timestamptz NOT NULL DEFAULT now(),
  version      integer     NOT NULL DEFAULT 1,
  struck_at    timestamptz,
  CONSTRAINT layout_number_positive CHECK (number BETWEEN 1 AND 100000),
  CONSTRAINT layout_state_known CHECK (state IN ('planned', 'cut', 'otherwise', 'broken', 'rejected', 'set_aside')),
  CONSTRAINT layout_said_bounded CHECK (length(said) <= 500),
  CONSTRAINT layout_drawing_bounded CHECK (length(drawing) <= 200000)
);

CREATE UNIQUE INDEX layout_once ON layout (plan_id, number);
CREATE INDEX layout_by_board ON layout (board_id);
CREATE INDEX layout_newest ON layout (received_at DESC, id DESC);

-- A rough piece cut from a board for a part. Its verdict is its board's.
CREATE TABLE blank (
  id           uuid        PRIMARY KEY,
  board_id     uuid        NOT NULL REFERENCES board (id),
  layout_id    uuid        REFERENCES layout (id),
  code         text        NOT NULL,
  kit          text        NOT NULL DEFAULT '',
  part         text        NOT NULL,
  zone         text        NOT NULL,
  thickness_nm bigint      NOT NULL,
  width_nm     bigint      NOT NULL,
  length_nm    bigint      NOT NULL,
  state        text        NOT NULL DEFAULT 'stock',
  place        text        NOT NULL DEFAULT '',
  notes        text        NOT NULL DEFAULT '',
  keeper_id    uuid        NOT NULL REFERENCES keeper (id),
  received_at  timestamptz NOT NULL DEFAULT now(),
  version      integer     NOT NULL DEFAULT 1,
  struck_at    timestamptz,
  -- derived
  verdict      text        NOT NULL DEFAULT 'hold',
  ownership_stop boolean   NOT NULL DEFAULT false,
  CONSTRAINT blank_code_shape CHECK (code ~ '^[2-9A-HJKMNP-Z]{4,12}-[0-9]{1,6}[a-z0-9.]{0,20}/[0-9]{1,4}$'),
  CONSTRAINT blank_part_named CHECK (length(part) BETWEEN 1 AND 200),
  CONSTRAINT blank_zone_known CHECK (zone IN ('inside', 'outside')),
  CONSTRAINT blank_size_positive CHECK (thickness_nm > 0 AND width_nm > 0 AND length_nm > 0),
  CONSTRAINT blank_state_known CHECK (state IN ('stock', 'used', 'spoiled', 'gone')),
  CONSTRAINT blank_verdict_known CHECK (verdict IN ('inside', 'outside', 'hold', 'never')),
  CONSTRAINT blank_notes_bounded CHECK (length(notes) <= 10000)
);

-- A blank that was entered by mistake was never written on wood: its code is
-- free again once it is struck.
CREATE UNIQUE INDEX blank_code_once ON blank (code) WHERE struck_at IS NULL;
CREATE INDEX blank_by_board ON blank (board_id);
CREATE INDEX blank_by_layout ON blank (layout_id) WHERE layout_id IS NOT NULL;
CREATE INDEX blank_newest ON blank (received_at DESC, id DESC);
CREATE INDEX blank_stock ON blank (part, code) WHERE struck_at IS NULL AND state = 'stock';

ALTER TABLE history DROP CONSTRAINT history_entity_known;
ALTER TABLE history ADD CONSTRAINT history_entity_known CHECK (entity IN
  ('keeper', 'source', 'pickup', 'lot', 'finding', 'board', 'defect', 'reading', 'photo', 'setting', 'policy', 'stack', 'climate', 'move', 'allowance',
   'part', 'plan', 'layout', 'blank'));

GRANT SELECT, INSERT, UPDATE ON part, plan, layout, blank TO skepwood_app;

-- +goose Down
DELETE FROM history WHERE entity IN ('part', 'plan', 'layout', 'blank');
ALTER TABLE history DROP CONSTRAINT history_entity_known;
ALTER TABLE history ADD CONSTRAINT history_entity_known CHECK (entity IN
  ('keeper', 'source', 'pickup', 'lot', 'finding', 'board', 'defect', 'reading', 'photo', 'setting', 'policy', 'stack', 'climate', 'move', 'allowance'));
DROP TABLE blank, layout, plan, part;
