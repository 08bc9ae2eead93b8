-- Where a keeper's rounds begin, how roads compare with straight lines there, and
-- what the vehicle holds, so that none of it is typed twice. A day at home may be worth
-- something: it is a figure with a date, like the hour. A book may change its currency:
-- the rate of that day is a figure too.

-- +goose Up
ALTER TABLE keeper
  ADD COLUMN home_latitude  double precision,
  ADD COLUMN home_longitude double precision,
  ADD COLUMN road_factor    double precision,
  ADD COLUMN vehicle_m3     double precision,
  ADD CONSTRAINT keeper_home_on_earth CHECK (home_latitude BETWEEN -90 AND 90 AND home_longitude BETWEEN -180 AND 180),
  ADD CONSTRAINT keeper_home_is_whole CHECK ((home_latitude IS NULL) = (home_longitude IS NULL)),
  ADD CONSTRAINT keeper_road_factor_possible CHECK (road_factor BETWEEN 1 AND 5),
  ADD CONSTRAINT keeper_vehicle_positive CHECK (vehicle_m3 > 0);

ALTER TABLE setting
  DROP CONSTRAINT setting_name_known,
  ADD CONSTRAINT setting_name_known CHECK (name IN ('mile_cost', 'hour_value', 'board_foot_price', 'disposal_cost', 'home_day', 'changeover'));

-- +goose Down
DELETE FROM setting WHERE name IN ('home_day', 'changeover');
ALTER TABLE setting
  DROP CONSTRAINT setting_name_known,
  ADD CONSTRAINT setting_name_known CHECK (name IN ('mile_cost', 'hour_value', 'board_foot_price', 'disposal_cost'));
ALTER TABLE keeper DROP COLUMN home_latitude, DROP COLUMN home_longitude, DROP COLUMN road_factor, DROP COLUMN vehicle_m3;
