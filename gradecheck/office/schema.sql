-- What an office keeps of its jobs. Run as the owner, in one transaction, as often as one likes: what is there stays,
-- every rule is made anew. Entries, chains, heads and plans are only added.

create table if not exists gradecheck.job (
    job uuid primary key default gen_random_uuid(),
    name text not null check (length(name) between 1 and 1000),
    role name not null default session_user,
    made timestamptz not null default now()
);

-- Which laptops work on a job, by their roles; the office works on all.
create table if not exists gradecheck.member (
    job uuid not null references gradecheck.job,
    role name not null,
    primary key (job, role)
);

-- One laptop's entries as they follow one another. A chain that goes on from another one says from where: `start` is
-- the number of its first entry, `before` the hash of the one before that, `parent` whose entry that is.
create table if not exists gradecheck.chain (
    job uuid not null references gradecheck.job,
    chain uuid not null,
    role name not null default session_user,
    first bytea not null check (length(first) = 32),
    parent uuid,
    start bigint not null check (start between 1 and 9007199254740991),
    before bytea not null check (length(before) = 32),
    made timestamptz not null default now(),
    primary key (job, chain),
    foreign key (job, parent) references gradecheck.chain,
    check ((parent is null) = (start = 1)),
    check (parent is not null or before = decode(repeat('00', 32), 'hex')),
    -- Named by who sends it and its first entry, so that nobody can take another one's name.
    check (chain = encode(substring(sha256(convert_to(role::text, 'UTF8') || first) for 16), 'hex')::uuid)
);

-- `content` are the bytes that `hash` is of; they end with the hash of the entry before.
create table if not exists gradecheck.entry (
    job uuid not null,
    chain uuid not null,
    number bigint not null check (number between 1 and 9007199254740991),
    hash bytea not null,
    content bytea not null check (length(content) between 70 and 4194304),
    got timestamptz not null default now(),
    primary key (job, chain, number)
) partition by hash (job);

-- Every end of a laptop's own log that was ever seen here, also where its entries were refused.
create table if not exists gradecheck.head (
    job uuid not null references gradecheck.job,
    role name not null default session_user,
    laptop text not null check (length(laptop) <= 1000),
    number bigint not null check (number between 1 and 9007199254740991),
    hash bytea not null check (length(hash) = 32),
    got timestamptz not null default now(),
    primary key (job, role, hash)
);

create table if not exists gradecheck.plan (
    job uuid not null references gradecheck.job,
    number integer not null check (number between 1 and 1000000),
    digest text not null check (digest ~ '^[0-9a-f]{64}$'),
    content bytea not null check (length(content) <= 67108864),
    role name not null default session_user,
    got timestamptz not null default now(),
    primary key (job, number)
);

-- What a board shows of a job, as one laptop counted it. A cache: the only rows that are ever changed.
create table if not exists gradecheck.progress (
    job uuid not null references gradecheck.job,
    role name not null default session_user,
    entries bigint not null,
    content bytea not null check (length(content) <= 8388608),
    got timestamptz not null default now(),
    primary key (job, role)
) with (fillfactor = 70);

-- Rules are made anew each time: one that was weakened is whole again after this.
do $$
declare
    each record;
begin
    for i in 0..15 loop
        execute format('create table if not exists gradecheck.entry_%s partition of gradecheck.entry
            for values with (modulus 16, remainder %s)', i, i);
        if not (select relispartition from pg_class where oid = format('gradecheck.entry_%s', i)::regclass) then
            execute format('alter table gradecheck.entry attach partition gradecheck.entry_%s
                for values with (modulus 16, remainder %s)', i, i);
        end if;
    end loop;
    for each in select tgname, tgrelid::regclass as owner from pg_trigger join pg_class on pg_class.oid = tgrelid
        where relnamespace = 'gradecheck'::regnamespace and not tgisinternal and tgparentid = 0
    loop
        execute format('drop trigger %I on %s', each.tgname, each.owner);
    end loop;
    for each in select polname, polrelid::regclass as owner from pg_policy join pg_class on pg_class.oid = polrelid
        where relnamespace = 'gradecheck'::regnamespace
    loop
        execute format('drop policy %I on %s', each.polname, each.owner);
    end loop;
end $$;

-- Security definer throughout: what a rule looks at must be seen whoever is asking, so it is held to `session_user`.
create or replace function gradecheck.only_added() returns trigger language plpgsql security definer
    set search_path = pg_catalog, pg_temp as $$
begin
    raise exception 'what is in % is only added to', tg_table_name using errcode = 'insufficient_privilege';
end $$;

-- Entries are looked up by key, one chain at a time: joined whole with the table, a plan made when that was empty
-- takes fifty times as long.
create or replace function gradecheck.chain_check() returns trigger language plpgsql security definer
    set search_path = pg_catalog, pg_temp set enable_seqscan = off as $$
declare
    sent record;
    begun record;
    last bytea;
    bad bigint;
begin
    for sent in
        select job, chain, min(number) as first, max(number) as last, count(*) as many from added group by job, chain
    loop
        select * into begun from gradecheck.chain x
            where x.job = sent.job and x.chain = sent.chain and x.role = session_user;
        if not found then
            raise exception 'this is no chain of %', session_user using errcode = 'insufficient_privilege';
        end if;
        if sent.many <> sent.last - sent.first + 1 then
            raise exception 'an entry is missing' using errcode = 'integrity_constraint_violation';
        end if;
        if sent.first = begun.start then
            last := begun.before;
            perform from added where job = sent.job and chain = sent.chain and number = sent.first
                and hash = begun.first;
            if not found then
                raise exception 'entry % is not the first of its chain', sent.first
                    using errcode = 'integrity_constraint_violation';
            end if;
        else
            select e.hash into last from gradecheck.entry e
                where e.job = sent.job and e.chain = sent.chain and e.number = sent.first - 1;
            if not found then
                raise exception 'the entry before % is missing', sent.first using errcode = 'no_data_found';
            end if;
        end if;
        -- Offset 0: what is looked at in a row alone is looked at before the rows are put in order, without their content.
        select number into bad from (
            select number, wrong, ends, lag(hash, 1, last) over (order by number) as before from (
                select number, hash, substring(content from length(content) - 66) as ends, sha256(content) <> hash
                    or substring(content for length(number::text) + 2) <> convert_to('[' || number || ',', 'UTF8')
                    as wrong
                from added where job = sent.job and chain = sent.chain offset 0
            ) each
        ) a where wrong or ends <> convert_to('"' || encode(before, 'hex') || '"]', 'UTF8') limit 1;
        if found then
            raise exception 'entry % does not continue its chain', bad
                using errcode = 'integrity_constraint_violation';
        end if;
        perform pg_notify('gradecheck', sent.job::text);
    end loop;
    return null;
end $$;

-- A chain may only go on from an entry that is there.
create or replace function gradecheck.start_check() returns trigger language plpgsql security definer
    set search_path = pg_catalog, pg_temp as $$
begin
    if new.parent is not null then
        perform from gradecheck.entry e where e.job = new.job and e.chain = new.parent
            and e.number = new.start - 1 and e.hash = new.before;
        if not found then
            raise exception 'the entry before % is missing', new.start using errcode = 'no_data_found';
        end if;
    end if;
    return new;
end $$;

create or replace function gradecheck.told() returns trigger language plpgsql security definer
    set search_path = pg_catalog, pg_temp as $$
begin
    perform pg_notify('gradecheck', new.job::text);
    return null;
end $$;

-- Whether whoever asks is of the office, and on which jobs a laptop works. Bracketed in a policy they are run once.
create or replace function gradecheck.is_office() returns boolean language sql stable security definer
    set search_path = pg_catalog, pg_temp as $$ select pg_has_role(session_user, 'gradecheck_office', 'member') $$;
create or replace function gradecheck.own_jobs() returns uuid[] language sql stable security definer
    set search_path = pg_catalog, pg_temp as $$
    select coalesce(array_agg(job), '{}') from gradecheck.job j
        where gradecheck.is_office() or exists (select from gradecheck.member m
            where m.job = j.job and m.role = session_user)
$$;

-- ENABLE ALWAYS: they fire for replication too. Each of the parts has its own, for who names it straight.
do $$
declare
    each regclass;
    is_part boolean;
begin
    for each, is_part in select oid, relispartition from pg_class where relnamespace = 'gradecheck'::regnamespace
        and relkind in ('r', 'p') and relname ~ '^(entry(_\d+)?|chain|head|plan|job)$'
    loop
        execute format('create trigger only_added before update or delete or truncate on %s
            for each statement execute function gradecheck.only_added()', each);
        execute format('alter table %s enable always trigger only_added', each);
        if is_part or each <> 'gradecheck.entry'::regclass then
            execute format('create trigger row_only_added before update or delete on %s
                for each row execute function gradecheck.only_added()', each);
            execute format('alter table %s enable always trigger row_only_added', each);
        end if;
        if is_part or each = 'gradecheck.entry'::regclass then
            execute format('create trigger chain_check after insert on %s referencing new table as added
                for each statement execute function gradecheck.chain_check()', each);
            execute format('alter table %s enable always trigger chain_check', each);
        end if;
    end loop;
end $$;
create trigger start_check before insert on gradecheck.chain for each row execute function gradecheck.start_check();
alter table gradecheck.chain enable always trigger start_check;
create trigger told after insert or update on gradecheck.progress for each row execute function gradecheck.told();

alter table gradecheck.job enable row level security, no force row level security;
alter table gradecheck.member enable row level security, no force row level security;
alter table gradecheck.chain enable row level security, no force row level security;
alter table gradecheck.entry enable row level security, no force row level security;
alter table gradecheck.head enable row level security, no force row level security;
alter table gradecheck.plan enable row level security, no force row level security;
alter table gradecheck.progress enable row level security, no force row level security;

create policy own on gradecheck.job for select using (job = any ((select gradecheck.own_jobs())::uuid[]));
create policy own on gradecheck.member for select using (role = session_user or (select gradecheck.is_office()));
create policy own on gradecheck.chain for select using (job = any ((select gradecheck.own_jobs())::uuid[]));
create policy own on gradecheck.entry for select using (job = any ((select gradecheck.own_jobs())::uuid[]));
create policy own on gradecheck.head for select using (job = any ((select gradecheck.own_jobs())::uuid[]));
create policy own on gradecheck.plan for select using (job = any ((select gradecheck.own_jobs())::uuid[]));
create policy own on gradecheck.progress for select using (job = any ((select gradecheck.own_jobs())::uuid[]));

create policy made on gradecheck.job for insert with check ((select gradecheck.is_office()) and role = session_user);
create policy made on gradecheck.member for insert with check ((select gradecheck.is_office()));
create policy gone on gradecheck.member for delete using ((select gradecheck.is_office()));
create policy given on gradecheck.plan for insert with check ((select gradecheck.is_office()) and role = session_user);
create policy sent on gradecheck.chain for insert
    with check (role = session_user and job = any ((select gradecheck.own_jobs())::uuid[]));
create policy sent on gradecheck.entry for insert with check (job = any ((select gradecheck.own_jobs())::uuid[]));
create policy sent on gradecheck.head for insert
    with check (role = session_user and job = any ((select gradecheck.own_jobs())::uuid[]));
create policy sent on gradecheck.progress for insert
    with check (role = session_user and job = any ((select gradecheck.own_jobs())::uuid[]));
create policy newer on gradecheck.progress for update
    using (role = session_user and job = any ((select gradecheck.own_jobs())::uuid[]))
    with check (role = session_user and job = any ((select gradecheck.own_jobs())::uuid[]));

-- Nothing is granted on the parts: all reading and writing goes through the table the policies are on.
revoke all on all tables in schema gradecheck from public, gradecheck_laptop, gradecheck_office;
revoke all on all functions in schema gradecheck from public, gradecheck_laptop, gradecheck_office;
grant usage on schema gradecheck to gradecheck_laptop;
grant execute on function gradecheck.is_office(), gradecheck.own_jobs() to gradecheck_laptop;
grant select on gradecheck.job, gradecheck.member, gradecheck.chain, gradecheck.entry, gradecheck.head,
    gradecheck.plan, gradecheck.progress to gradecheck_laptop;
grant insert (job, chain, first, parent, start, before) on gradecheck.chain to gradecheck_laptop;
grant insert (job, chain, number, hash, content) on gradecheck.entry to gradecheck_laptop;
grant insert (job, laptop, number, hash) on gradecheck.head to gradecheck_laptop;
grant insert (job, entries, content) on gradecheck.progress to gradecheck_laptop;
grant update (entries, content, got) on gradecheck.progress to gradecheck_laptop;
grant insert (job, name) on gradecheck.job to gradecheck_office;
grant insert (job, number, digest, content) on gradecheck.plan to gradecheck_office;
grant insert, delete on gradecheck.member to gradecheck_office;
