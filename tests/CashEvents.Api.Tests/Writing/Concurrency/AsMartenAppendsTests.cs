using System.Globalization;
using JasperFx.Events;
using Marten;
using Microsoft.Extensions.DependencyInjection;
using Xunit;

namespace CashEvents.Api.Tests.Writing;

/// <summary>
/// The writer appends to Marten's tables by itself, for many books at once. What stands there is what Marten writes.
/// </summary>
public sealed class AsMartenAppendsTests(SharedServer shared)
{
    [Fact]
    public async Task Rows_of_every_kind_of_line_are_those_that_Marten_writes()
    {
        var household = await EveryKind.WrittenAsync(shared);
        var store = household.Server.Services.GetRequiredService<IDocumentStore>();
        var beside = household.Id + "-by-marten";
        await using (var reading = store.QuerySession(household.Id))
        {
            var lines = await reading.Events.FetchStreamAsync(BookTables.Stream,
                token: TestContext.Current.CancellationToken);
            // The first lines begin the stream, the others go on with it.
            await AppendAsync(store, beside, lines.Take(2));
            await AppendAsync(store, beside, lines.Skip(2));
        }

        foreach (var rows in new[]
        {
            "select string_agg((to_jsonb(e) - 'seq_id' - 'id' - 'tenant_id')::text, '\n' order by version) "
                + "from cashevents.mt_events e where tenant_id = '{0}'",
            "select string_agg((to_jsonb(s) - 'tenant_id' - 'timestamp' - 'created')::text, '\n') "
                + "from cashevents.mt_streams s where tenant_id = '{0}'",
            // In the order of the lines, as whoever reads by it expects.
            "select bool_and(seq_id > before) from (select seq_id, lag(seq_id, 1, 0) over (order by version) as before "
                + "from cashevents.mt_events e where tenant_id = '{0}') e",
        })
        {
            Assert.Equal(await AskAsync(household, rows, beside), await AskAsync(household, rows, household.Id));
        }
    }

    private static async Task AppendAsync(IDocumentStore store, string tenant, IEnumerable<IEvent> lines)
    {
        await using var session = store.LightweightSession(tenant);
        var events = lines.Select(line =>
        {
            var copy = session.Events.BuildEvent(line.Data);
            copy.Timestamp = line.Timestamp;
            copy.UserName = line.UserName;
            copy.CorrelationId = line.CorrelationId;
            copy.SetHeader(LineHash.Header, line.GetHeader(LineHash.Header)!);
            return (object)copy;
        }).ToList();
        session.Events.Append(BookTables.Stream, events);
        await session.SaveChangesAsync(TestContext.Current.CancellationToken);
    }

    private static Task<string?> AskAsync(Household household, string sql, string tenant) =>
        Database.AskAsync(household.Server.Database, string.Format(CultureInfo.InvariantCulture, sql, tenant));
}
