using System.Net.Http.Headers;
using System.Text;

namespace CashEvents.Api.Tests.Months;

/// <summary>Sheets as households keep them, and how they are sent.</summary>
internal static class PaperSheet
{
    /// <summary>Two weeks of ferry fares without a fault.</summary>
    public const string Ferry = """
        date,description,amount,balance
        2026-11-02,November pay,60.00,60.00
        2026-11-03,Return to the mainland,-8.40,51.60
        2026-11-05,Return to the mainland,-8.40,43.20
        2026-11-05,Return to the mainland,-8.40,34.80
        2026-11-09,"Parcel, by the early boat",-12.50,22.30
        2026-11-13,Deposit for the hired bicycle back,5.00,27.30

        """;

    public static Task<Reply> ImportAsync(this Household household, string csv,
        string parameters = "compartment=ferry-fares", params (string, string)[] headers) =>
        household.Keeper.ImportAsync(Encoding.UTF8.GetBytes(csv), parameters, headers);

    public static Task<Reply> ImportAsync(this ApiClient client, byte[] csv,
        string parameters = "compartment=ferry-fares", params (string, string)[] headers) =>
        client.SendContentAsync("POST", $"/api/imports?{parameters}",
            new ByteArrayContent(csv) { Headers = { ContentType = new MediaTypeHeaderValue("text/csv") } }, headers);
}
