-- The book: who keeps it, where wood comes from, what was seen on it, and the
-- history that keeps every struck value readable.
--
-- Rules that hold for every table of entries:
--   id           UUID made where the entry was made; sent twice it is one entry.
--   received_at  when the book got it (UTC); what happened when is a column of its own.
--   version      counts corrections; an edit names the version it read.
--   struck_at    set when the entry was struck through; nothing is ever deleted.
-- Columns after the line "derived" follow from entries and can be rebuilt.

-- +goose Up
-- +goose StatementBegin
DO $$
BEGIN
  CREATE ROLE skepwood_app NOLOGIN;
EXCEPTION
  WHEN duplicate_object OR unique_violation THEN NULL;
END
$$;
-- +goose StatementEnd

CREATE TABLE keeper (
  id            uuid        PRIMARY KEY,
  name          text        NOT NULL,
  length_unit   text        NOT NULL DEFAULT 'in',
  temperature_unit text     NOT NULL DEFAULT 'F',
  distance_unit text        NOT NULL DEFAULT 'mi',
  currency      text        NOT NULL DEFAULT 'USD',
  zone          text        NOT NULL DEFAULT 'UTC',
  received_at   timestamptz NOT NULL DEFAULT now(),
  version       integer     NOT NULL DEFAULT 1,
  CONSTRAINT keeper_name_present CHECK (length(name) BETWEEN 1 AND 200),
  CONSTRAINT keeper_length_unit_known CHECK (length_unit IN ('in', 'mm')),
  CONSTRAINT keeper_temperature_unit_known CHECK (temperature_unit IN ('F', 'C')),
  CONSTRAINT keeper_distance_unit_known CHECK (distance_unit IN ('mi', 'km')),
  CONSTRAINT keeper_currency_is_iso_4217 CHECK (currency ~ '^[A-Z]{3}$')
);

CREATE UNIQUE INDEX keeper_name_once ON keeper (lower(name));

CREATE TABLE source (
  id           uuid             PRIMARY KEY,
  name         text             NOT NULL,
  kind         text             NOT NULL DEFAULT '',
  cargo        text             NOT NULL DEFAULT '',
  contact      text             NOT NULL DEFAULT '',
  phone        text             NOT NULL DEFAULT '',
  permission   text             NOT NULL DEFAULT '',
  hours        text             NOT NULL DEFAULT '',
  place        text             NOT NULL DEFAULT '',
  latitude     double precision,
  longitude    double precision,
  distance_m   double precision,
  notes        text             NOT NULL DEFAULT '',
  keeper_id    uuid             NOT NULL REFERENCES keeper (id),
  received_at  timestamptz      NOT NULL DEFAULT now(),
  version      integer          NOT NULL DEFAULT 1,
  struck_at    timestamptz,
  CONSTRAINT source_name_present CHECK (length(name) BETWEEN 1 AND 200),
  CONSTRAINT source_text_bounded CHECK (length(notes) <= 10000),
  CONSTRAINT source_latitude_on_earth CHECK (latitude BETWEEN -90 AND 90),
  CONSTRAINT source_longitude_on_earth CHECK (longitude BETWEEN -180 AND 180),
  CONSTRAINT source_distance_not_negative CHECK (distance_m >= 0)
);

CREATE UNIQUE INDEX source_name_once ON source (lower(name)) WHERE struck_at IS NULL;

CREATE TABLE pickup (
  id           uuid             PRIMARY KEY,
  source_id    uuid             NOT NULL REFERENCES source (id),
  day          date             NOT NULL,
  visit        integer          NOT NULL DEFAULT 1,
  zone         text             NOT NULL DEFAULT 'UTC',
  distance_m   double precision NOT NULL DEFAULT 0,
  minutes      double precision NOT NULL DEFAULT 0,
  cost_minor   bigint           NOT NULL DEFAULT 0,
  currency     text             NOT NULL DEFAULT 'USD',
  empty        boolean          NOT NULL DEFAULT false,
  notes        text             NOT NULL DEFAULT '',
  keeper_id    uuid             NOT NULL REFERENCES keeper (id),
  received_at  timestamptz      NOT NULL DEFAULT now(),
  version      integer          NOT NULL DEFAULT 1,
  struck_at    timestamptz,
  -- derived
  lots         integer          NOT NULL DEFAULT 0,
  boards       integer          NOT NULL DEFAULT 0,
  shop_minutes double precision NOT NULL DEFAULT 0,
  gross_inside_m3   double precision NOT NULL DEFAULT 0,
  gross_outside_m3  double precision NOT NULL DEFAULT 0,
  gross_hold_m3     double precision NOT NULL DEFAULT 0,
  gross_never_m3    double precision NOT NULL DEFAULT 0,
  gross_stopped_m3  double precision NOT NULL DEFAULT 0,
  gross_lost_m3     double precision NOT NULL DEFAULT 0,
  usable_inside_m3  double precision NOT NULL DEFAULT 0,
  usable_outside_m3 double precision NOT NULL DEFAULT 0,
  usable_hold_m3    double precision NOT NULL DEFAULT 0,
  estimated    integer          NOT NULL DEFAULT 0,
  unknown      integer          NOT NULL DEFAULT 0,
  CONSTRAINT pickup_visit_positive CHECK (visit >= 1),
  CONSTRAINT pickup_distance_not_negative CHECK (distance_m >= 0),
  CONSTRAINT pickup_minutes_within_three_days CHECK (minutes BETWEEN 0 AND 4320),
  CONSTRAINT pickup_currency_is_iso_4217 CHECK (currency ~ '^[A-Z]{3}$'),
  CONSTRAINT pickup_notes_bounded CHECK (length(notes) <= 10000)
);

CREATE UNIQUE INDEX pickup_visit_once ON pickup (source_id, day, visit) WHERE struck_at IS NULL;
CREATE INDEX pickup_newest ON pickup (received_at DESC, id DESC);
CREATE INDEX pickup_by_day ON pickup (day);

CREATE TABLE lot (
  id            uuid        PRIMARY KEY,
  pickup_id     uuid        NOT NULL REFERENCES pickup (id),
  code          text        NOT NULL,
  label         text        NOT NULL DEFAULT '',
  kind          text        NOT NULL,
  count         integer     NOT NULL DEFAULT 1,
  place         text        NOT NULL DEFAULT '',
  volume_m3     double precision,
  usable_share  double precision,
  broken        integer     NOT NULL DEFAULT 0,
  dismantle_minutes double precision NOT NULL DEFAULT 0,
  notes         text        NOT NULL DEFAULT '',
  keeper_id     uuid        NOT NULL REFERENCES keeper (id),
  received_at   timestamptz NOT NULL DEFAULT now(),
  version       integer     NOT NULL DEFAULT 1,
  struck_at     timestamptz,
  -- derived
  verdict       text        NOT NULL DEFAULT 'hold',
  ownership_stop boolean    NOT NULL DEFAULT false,
  reasons       jsonb       NOT NULL DEFAULT '[]',
  rule_version  text        NOT NULL DEFAULT '',
  boards        integer     NOT NULL DEFAULT 0,
  gross_inside_m3   double precision NOT NULL DEFAULT 0,
  gross_outside_m3  double precision NOT NULL DEFAULT 0,
  gross_hold_m3     double precision NOT NULL DEFAULT 0,
  gross_never_m3    double precision NOT NULL DEFAULT 0,
  gross_stopped_m3  double precision NOT NULL DEFAULT 0,
  gross_lost_m3     double precision NOT NULL DEFAULT 0,
  usable_inside_m3  double precision NOT NULL DEFAULT 0,
  usable_outside_m3 double precision NOT NULL DEFAULT 0,
  usable_hold_m3    double precision NOT NULL DEFAULT 0,
  estimated     boolean     NOT NULL DEFAULT false,
  unknown       boolean     NOT NULL DEFAULT false,
  CONSTRAINT lot_code_shape CHECK (code ~ '^[2-9A-HJKMNP-Z]{4,12}$'),
  CONSTRAINT lot_kind_known CHECK (kind IN ('crate', 'pallet', 'dunnage', 'boards', 'panel', 'other')),
  CONSTRAINT lot_count_positive CHECK (count BETWEEN 1 AND 100000),
  CONSTRAINT lot_volume_positive CHECK (volume_m3 > 0),
  CONSTRAINT lot_usable_share_is_a_share CHECK (usable_share BETWEEN 0 AND 1),
  CONSTRAINT lot_broken_not_negative CHECK (broken >= 0),
  CONSTRAINT lot_minutes_not_negative CHECK (dismantle_minutes >= 0),
  CONSTRAINT lot_verdict_known CHECK (verdict IN ('inside', 'outside', 'hold', 'never')),
  CONSTRAINT lot_notes_bounded CHECK (length(notes) <= 10000)
);

-- A code is written on wood; it stays taken even when its entry is struck.
CREATE UNIQUE INDEX lot_code_once ON lot (code);
-- What was already written on the wood, or the number an older sheet gave it.
CREATE UNIQUE INDEX lot_label_once ON lot (label) WHERE label <> '' AND struck_at IS NULL;
CREATE INDEX lot_by_pickup ON lot (pickup_id);
CREATE INDEX lot_newest ON lot (received_at DESC, id DESC);
CREATE INDEX lot_by_verdict ON lot (verdict) WHERE struck_at IS NULL;

CREATE TABLE board (
  id            uuid        PRIMARY KEY,
  lot_id        uuid        NOT NULL REFERENCES lot (id),
  parent_id     uuid        REFERENCES board (id),
  code          text        NOT NULL,
  label         text        NOT NULL DEFAULT '',
  thickness_nm  bigint      NOT NULL,
  width_nm      bigint      NOT NULL,
  length_nm     bigint      NOT NULL,
  species       text        NOT NULL DEFAULT '',
  place         text        NOT NULL DEFAULT '',
  state         text        NOT NULL DEFAULT 'rack',
  metal         text        NOT NULL DEFAULT 'not_swept',
  notes         text        NOT NULL DEFAULT '',
  keeper_id     uuid        NOT NULL REFERENCES keeper (id),
  received_at   timestamptz NOT NULL DEFAULT now(),
  version       integer     NOT NULL DEFAULT 1,
  struck_at     timestamptz,
  -- derived
  verdict       text        NOT NULL DEFAULT 'hold',
  ownership_stop boolean    NOT NULL DEFAULT false,
  reasons       jsonb       NOT NULL DEFAULT '[]',
  gross_m3      double precision NOT NULL DEFAULT 0,
  usable_m3     double precision NOT NULL DEFAULT 0,
  mapped        boolean     NOT NULL DEFAULT false,
  moisture_pct  double precision,
  moisture_sd   double precision,
  moisture_range text       NOT NULL DEFAULT '',
  moisture_at   timestamptz,
  CONSTRAINT board_code_shape CHECK (code ~ '^[2-9A-HJKMNP-Z]{4,12}-[0-9]{1,6}[a-z0-9.]{0,20}$'),
  CONSTRAINT board_size_positive CHECK (thickness_nm > 0 AND width_nm > 0 AND length_nm > 0),
  CONSTRAINT board_size_below_100_m CHECK (thickness_nm <= 100000000000 AND width_nm <= 100000000000 AND length_nm <= 100000000000),
  CONSTRAINT board_state_known CHECK (state IN ('rack', 'cut', 'built', 'broken', 'gone')),
  CONSTRAINT board_metal_known CHECK (metal IN ('not_swept', 'clean', 'found')),
  CONSTRAINT board_verdict_known CHECK (verdict IN ('inside', 'outside', 'hold', 'never')),
  CONSTRAINT board_not_its_own_parent CHECK (parent_id <> id),
  CONSTRAINT board_notes_bounded CHECK (length(notes) <= 10000)
);

CREATE UNIQUE INDEX board_code_once ON board (code);
CREATE UNIQUE INDEX board_label_once ON board (label) WHERE label <> '' AND struck_at IS NULL;
CREATE INDEX board_by_lot ON board (lot_id);
CREATE INDEX board_by_parent ON board (parent_id) WHERE parent_id IS NOT NULL;
CREATE INDEX board_newest ON board (received_at DESC, id DESC);
CREATE INDEX board_stock ON board (verdict, code) WHERE struck_at IS NULL AND state = 'rack';

CREATE TABLE finding (
  id           uuid        PRIMARY KEY,
  lot_id       uuid        NOT NULL REFERENCES lot (id),
  board_id     uuid        REFERENCES board (id),
  kind         text        NOT NULL,
  value        text        NOT NULL DEFAULT '',
  note         text        NOT NULL DEFAULT '',
  seen_at      timestamptz NOT NULL,
  keeper_id    uuid        NOT NULL REFERENCES keeper (id),
  received_at  timestamptz NOT NULL DEFAULT now(),
  version      integer     NOT NULL DEFAULT 1,
  struck_at    timestamptz,
  CONSTRAINT finding_kind_present CHECK (length(kind) BETWEEN 1 AND 60),
  CONSTRAINT finding_value_bounded CHECK (length(value) <= 4096),
  CONSTRAINT finding_note_bounded CHECK (length(note) <= 10000)
);

CREATE INDEX finding_by_lot ON finding (lot_id);
CREATE INDEX finding_by_board ON finding (board_id) WHERE board_id IS NOT NULL;
CREATE INDEX finding_newest ON finding (received_at DESC, id DESC);

CREATE TABLE defect (
  id           uuid        PRIMARY KEY,
  board_id     uuid        NOT NULL REFERENCES board (id),
  kind         text        NOT NULL,
  face         text        NOT NULL,
  x_nm         bigint      NOT NULL,
  y_nm         bigint      NOT NULL,
  dx_nm        bigint      NOT NULL,
  dy_nm        bigint      NOT NULL,
  metal        boolean     NOT NULL DEFAULT false,
  note         text        NOT NULL DEFAULT '',
  keeper_id    uuid        NOT NULL REFERENCES keeper (id),
  received_at  timestamptz NOT NULL DEFAULT now(),
  version      integer     NOT NULL DEFAULT 1,
  struck_at    timestamptz,
  CONSTRAINT defect_kind_known CHECK (kind IN ('nail_hole', 'knot', 'split', 'check', 'wane', 'decay', 'stain', 'insect_hole')),
  CONSTRAINT defect_face_known CHECK (face IN ('top', 'bottom', 'both')),
  CONSTRAINT defect_starts_on_the_board CHECK (x_nm >= 0 AND y_nm >= 0),
  CONSTRAINT defect_has_a_size CHECK (dx_nm > 0 AND dy_nm > 0),
  CONSTRAINT defect_note_bounded CHECK (length(note) <= 10000)
);

CREATE INDEX defect_by_board ON defect (board_id);
CREATE INDEX defect_newest ON defect (received_at DESC, id DESC);

CREATE TABLE reading (
  id           uuid        PRIMARY KEY,
  board_id     uuid        NOT NULL REFERENCES board (id),
  taken_at     timestamptz NOT NULL,
  raw          double precision NOT NULL,
  method       text        NOT NULL DEFAULT 'pin',
  wood_temp_c  double precision,
  setting      text        NOT NULL DEFAULT '',
  place        text        NOT NULL DEFAULT '',
  note         text        NOT NULL DEFAULT '',
  keeper_id    uuid        NOT NULL REFERENCES keeper (id),
  received_at  timestamptz NOT NULL DEFAULT now(),
  version      integer     NOT NULL DEFAULT 1,
  struck_at    timestamptz,
  -- derived
  percent      double precision,
  percent_sd   double precision,
  range        text        NOT NULL DEFAULT '',
  CONSTRAINT reading_raw_not_negative CHECK (raw >= 0),
  CONSTRAINT reading_method_known CHECK (method IN ('pin', 'ohm', 'pinless', 'ovendry', 'sample')),
  CONSTRAINT reading_temperature_possible CHECK (wood_temp_c BETWEEN -60 AND 120),
  CONSTRAINT reading_range_known CHECK (range IN ('', 'in', 'below', 'above')),
  CONSTRAINT reading_note_bounded CHECK (length(note) <= 10000)
);

CREATE INDEX reading_by_board ON reading (board_id, taken_at DESC);
CREATE INDEX reading_newest ON reading (received_at DESC, id DESC);

-- Photos are stored re-encoded, without the position the camera wrote.
CREATE TABLE photo (
  id           uuid        PRIMARY KEY,
  lot_id       uuid        NOT NULL REFERENCES lot (id),
  board_id     uuid        REFERENCES board (id),
  finding_id   uuid        REFERENCES finding (id),
  media_type   text        NOT NULL,
  bytes        bytea       NOT NULL,
  sha256       bytea       NOT NULL,
  width_px     integer     NOT NULL,
  height_px    integer     NOT NULL,
  caption      text        NOT NULL DEFAULT '',
  keeper_id    uuid        NOT NULL REFERENCES keeper (id),
  received_at  timestamptz NOT NULL DEFAULT now(),
  version      integer     NOT NULL DEFAULT 1,
  struck_at    timestamptz,
  CONSTRAINT photo_media_type_known CHECK (media_type IN ('image/jpeg', 'image/png')),
  CONSTRAINT photo_at_most_8_mib CHECK (octet_length(bytes) BETWEEN 1 AND 8388608),
  CONSTRAINT photo_sha256_is_32_bytes CHECK (octet_length(sha256) = 32),
  CONSTRAINT photo_has_a_size CHECK (width_px > 0 AND height_px > 0)
);

CREATE INDEX photo_by_lot ON photo (lot_id);

-- What was changed: one row per correction, strike or restoration, with every
-- old and new value as the person would have typed it.
CREATE TABLE history (
  id           uuid        PRIMARY KEY,
  entity       text        NOT NULL,
  entity_id    uuid        NOT NULL,
  action       text        NOT NULL,
  why          text        NOT NULL,
  changes      jsonb       NOT NULL,
  keeper_id    uuid        NOT NULL REFERENCES keeper (id),
  received_at  timestamptz NOT NULL DEFAULT now(),
  CONSTRAINT history_entity_known CHECK (entity IN ('keeper', 'source', 'pickup', 'lot', 'finding', 'board', 'defect', 'reading', 'photo', 'setting')),
  CONSTRAINT history_action_known CHECK (action IN ('corrected', 'struck', 'restored')),
  CONSTRAINT history_says_why CHECK (length(why) BETWEEN 1 AND 2000)
);

CREATE INDEX history_by_entity ON history (entity, entity_id, received_at DESC);
CREATE INDEX history_newest ON history (received_at DESC, id DESC);

-- Figures that change with the date: what a mile costs, what an hour is
-- worth, what bought lumber costs. The newest row not later than a day holds on it.
CREATE TABLE setting (
  id           uuid        PRIMARY KEY,
  name         text        NOT NULL,
  valid_from   date        NOT NULL,
  amount       numeric(14, 4) NOT NULL,
  currency     text        NOT NULL,
  note         text        NOT NULL DEFAULT '',
  keeper_id    uuid        NOT NULL REFERENCES keeper (id),
  received_at  timestamptz NOT NULL DEFAULT now(),
  version      integer     NOT NULL DEFAULT 1,
  struck_at    timestamptz,
  CONSTRAINT setting_name_known CHECK (name IN ('mile_cost', 'hour_value', 'board_foot_price', 'disposal_cost')),
  CONSTRAINT setting_amount_not_negative CHECK (amount >= 0),
  CONSTRAINT setting_currency_is_iso_4217 CHECK (currency ~ '^[A-Z]{3}$'),
  CONSTRAINT setting_note_bounded CHECK (length(note) <= 10000)
);

CREATE UNIQUE INDEX setting_one_per_day ON setting (name, valid_from, currency) WHERE struck_at IS NULL;

-- The application serves with this role: it may read, add and correct, never delete.
GRANT USAGE ON SCHEMA public TO skepwood_app;
GRANT SELECT, INSERT, UPDATE ON keeper, source, pickup, lot, board, finding, defect, reading, photo, setting TO skepwood_app;
GRANT SELECT, INSERT ON history TO skepwood_app;
GRANT SELECT ON goose_db_version TO skepwood_app;

-- +goose Down
DROP TABLE setting, history, photo, reading, defect, finding, board, lot, pickup, source, keeper;
